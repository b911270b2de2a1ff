/** Which intervals are learned from, and why not the others. */
import { describe, expect, test } from 'vitest';
import {
  type Exclusion,
  lagGridDays,
  type Move,
  moistureCourse,
  observationsOf,
  type PitchVisit,
  registers,
} from '../../server/science/drift/index.ts';

const day = 86_400_000;
const startMs = Date.UTC(2031, 0, 1);
const steps = 730;

function climate(gap?: { from: number; to: number }) {
  const isGap = (i: number) => gap !== undefined && i >= gap.from && i < gap.to;
  return moistureCourse(
    {
      startMs,
      stepMs: day,
      temperatureC: Array.from({ length: steps }, (_, i) => (isGap(i) ? null : 21)),
      humidityPct: Array.from({ length: steps }, (_, i) => (isGap(i) ? null : i < 200 ? 35 : 55)),
    },
    lagGridDays,
  );
}

const all = (cents: number) => Object.fromEntries(registers.map((register) => [register, cents]));
function visit(
  atDay: number,
  found: number | null,
  left: number | null,
  more: Partial<PitchVisit> = {},
): PitchVisit {
  return {
    atMs: startMs + atDay * day,
    asFound: found === null ? {} : all(found),
    asLeft: left === null ? null : all(left),
    onlyA4: false,
    temperatureC: 21,
    stringWork: false,
    ...more,
  };
}
const grand = { id: 'g', kind: 'grand', finish: 'lacquer' } as const;

function learned(visits: PitchVisit[], moves: Move[] = [], course = climate()) {
  return observationsOf(grand, visits, course, moves, () => 20);
}
const reasons = (excluded: readonly Exclusion[]) => excluded.map(({ reason }) => reason);

test('from as left to as found: drift, moisture at every lag, time and temperature', () => {
  const { observations, excluded } = learned([visit(100, -5, 0), visit(300, 9, 0, { temperatureC: 24 })]);
  expect(excluded).toEqual([]);
  const [one] = observations;
  expect(one?.changeCents).toEqual(all(9));
  expect(one?.years).toBeCloseTo(200 / 365.25, 9);
  expect(one?.temperatureChangeC).toBe(3);
  // 35 to 55 %RH at 21 °C is 6.8 to 10.0 %MC by the sorption formula; after 100 days every lag has arrived.
  const changes = one?.moistureChangePct;
  expect(changes).toHaveLength(lagGridDays.length);
  for (const change of Array.isArray(changes) ? changes : [])
    expect(Math.abs(change - 3.2)).toBeLessThan(0.2);
  expect(one?.settlingCents).toBeCloseTo(5, 1);
});

test('an interval that ends in a large correction is learned, the one after it is not', () => {
  const { observations, excluded } = learned([visit(50, 0, 0), visit(200, -35, 0), visit(400, 4, 0)]);
  expect(observations.map(({ toMs }) => (toMs - startMs) / day)).toEqual([200]);
  expect(reasons(excluded)).toEqual(['after a raise']);
  expect(excluded[0]?.because).toContain('35 cents');
});

test('lowering by as much is no raise', () => {
  expect(learned([visit(50, 30, 0), visit(200, 4, 0)]).excluded).toEqual([]);
});

test('string work at the beginning or within excludes; at the end it does not, and creep is counted from it', () => {
  expect(reasons(learned([visit(50, 0, 0, { stringWork: true }), visit(200, -9, 0)]).excluded)).toEqual([
    'string work',
  ]);
  const within = learned([visit(50, 0, 0), visit(90, null, null, { stringWork: true }), visit(200, -9, 0)]);
  expect(reasons(within.excluded)).toEqual(['string work']);
  const after = learned([
    visit(50, 0, 0),
    visit(200, -9, 0, { stringWork: true }),
    visit(300, -7, 0),
    visit(400, -3, 0),
  ]);
  expect(reasons(after.excluded)).toEqual(['string work']);
  // From 100 to 200 days after new strings: exp(-0.274/0.5) - exp(-0.548/0.5).
  expect(after.observations[1]?.freshStrings).toBeCloseTo(0.244, 2);
});

test('an inspection without pitch neither ends nor opens an interval', () => {
  const { observations } = learned([visit(50, 0, 0), visit(120, null, null), visit(200, -3, 0)]);
  expect(observations).toHaveLength(1);
  expect(observations[0]?.years).toBeCloseTo(150 / 365.25, 9);
});

describe('heard in passing, and not tuned', () => {
  test('an A4 ends and opens the interval of the middle; the others go on from the tuning', () => {
    const heard = visit(120, null, null, { asFound: { middle: -4 }, onlyA4: true });
    const { observations, excluded } = learned([visit(50, 0, 0), heard, visit(200, -3, 0)]);
    expect(excluded).toEqual([]);
    const { middle: _, ...others } = all(-3);
    expect(
      observations.map(({ fromMs, toMs, changeCents }) => [
        (fromMs - startMs) / day,
        (toMs - startMs) / day,
        changeCents,
      ]),
    ).toEqual([
      [50, 120, { middle: -4 }],
      [50, 200, others],
      [120, 200, { middle: 1 }],
    ]);
    expect(observations.map(({ onlyA4 }) => onlyA4)).toEqual([true, false, true]);
  });

  test('what begins there is not learned while a large raise still settles, and knows what is left of it later', () => {
    const raised = [visit(50, 0, 0), visit(200, -35, 0)];
    const soon = learned([...raised, visit(210, -1, null), visit(400, 4, 0)]);
    expect(reasons(soon.excluded)).toEqual(['after a raise', 'after a raise']);
    expect(soon.excluded[1]?.because).toContain('soon after a raise of 35 cents');
    const later = learned([...raised, visit(290, -1, null), visit(400, 4, 0)]);
    expect(reasons(later.excluded)).toEqual(['after a raise']);
    // Ninety days on, e⁻³ of the raise is left to settle, and nearly all of that does in the next 110.
    expect(later.observations[1]?.settlingCents).toBeCloseTo(
      35 * Math.exp(-3) * (1 - Math.exp(-110 / 30)),
      9,
    );
  });
});

describe('moves', () => {
  const visits = [visit(50, 0, 0), visit(200, -3, 0)];
  const at = (sensorWentAlong: boolean) => [{ atMs: startMs + 100 * day, sensorWentAlong }];
  test('with a sensor that went along it is learned', () => {
    expect(learned(visits, at(true)).observations).toHaveLength(1);
  });
  test('without, it is not', () => {
    expect(reasons(learned(visits, at(false)).excluded)).toEqual(['moved without a sensor']);
  });
});

test.each([
  [29, []],
  [32, ['climate missing']],
])('%i of 150 days without climate', (missing, expected) => {
  const course = climate({ from: 60, to: 60 + missing });
  expect(reasons(learned([visit(50, 0, 0), visit(200, -3, 0)], [], course).excluded)).toEqual(expected);
});

test('a visit in the hour that still runs finds the board as the last hour left it', () => {
  const { observations, excluded } = learned([visit(400, 0, 0), visit(steps + 0.4, -3, 0)]);
  expect(excluded).toEqual([]);
  for (const pct of [observations[0]?.moistureChangePct ?? []].flat()) expect(pct).toBeCloseTo(0, 3);
  expect(reasons(learned([visit(400, 0, 0), visit(steps + 1.4, -3, 0)]).excluded)).toEqual([
    'before the climate was known',
  ]);
});

test('before the sensors came nothing is learned', () => {
  expect(reasons(learned([visit(-30, 0, 0), visit(100, -3, 0)]).excluded)).toEqual([
    'before the climate was known',
  ]);
});

test('A4 alone stands for the middle, and is marked', () => {
  const { observations } = learned([
    visit(50, 0, 0),
    visit(200, null, null, { asFound: { middle: -4 }, onlyA4: true }),
  ]);
  expect(observations[0]).toMatchObject({ changeCents: { middle: -4 }, onlyA4: true });
});

test('visits out of order are refused', () => {
  expect(() => learned([visit(200, 0, 0), visit(50, 0, 0)])).toThrow(/order/);
});
