/** Fleets that leave something open: the fit says what, and never answers with NaN. */
import { describe, expect, test } from 'vitest';
import {
  type DriftObservation,
  type DriftPosterior,
  fitDrift,
  ownSlope,
  predictOffset,
  registers,
  seededRandom,
} from '../../server/science/drift/index.ts';

const random = seededRandom(5);

function row(
  instrument: string,
  moistureChangePct: number,
  cents: number | null,
  years = 0,
): DriftObservation {
  return {
    instrument,
    kind: 'grand',
    finish: null,
    fromMs: 0,
    toMs: years * 3.15576e10,
    moistureChangePct,
    years,
    temperatureChangeC: 0,
    changeCents: cents === null ? {} : { middle: cents },
  };
}

/** Every number of a posterior, wherever it stands, is one. */
function expectFinite(value: unknown, where = 'posterior'): void {
  if (typeof value === 'number') expect(Number.isFinite(value), where).toBe(true);
  else if (value !== null && typeof value === 'object') {
    for (const [key, part] of Object.entries(value)) {
      // The lag of a single given change is not known, and said to be so.
      if (key !== 'lagDays') expectFinite(part, `${where}.${key}`);
    }
  }
}

const change = { leftCents: 0, moistureChangePct: 2, years: 0.5, temperatureChangeC: 1 };
const grand = (id: string) => ({ id, kind: 'grand', finish: null }) as const;

describe.each(['flat', 'trade'] as const)('prior %s', (prior) => {
  test('one instrument', () => {
    const rows = Array.from({ length: 8 }, (_, i) => row('a', i - 3.5, 3 * (i - 3.5) + random.normal()));
    const posterior = fitDrift(rows, { prior });
    expectFinite(posterior);
    expect(posterior.registers.middle.note).toContain('One instrument');
    expect(ownSlope(posterior, grand('a'), 'middle').slopeCentsPerPct).toBeCloseTo(3, 0);
    if (prior === 'flat') expect(posterior.registers.middle.slopeSd).toBe(0);
  });

  test('readings that all lie on one line', () => {
    const rows = ['a', 'b', 'c'].flatMap((id) => [1, 2, -1.5].map((m) => row(id, m, 4 * m)));
    const posterior = fitDrift(rows, { prior });
    expectFinite(posterior);
    if (prior === 'flat') {
      expect(posterior.registers.middle).toMatchObject({
        state: 'exact',
        slopeSd: 0,
        residualSd: 0,
        logLikelihood: null,
      });
      expect(posterior.registers.middle.coefficients[0]).toBeCloseTo(4, 9);
      expect(posterior.registers.middle.note).toContain('on its line');
    }
  });

  test('readings that all lie on lines of their own', () => {
    const slope = { a: 2, b: 3, c: 5.5 } as const;
    const rows = (['a', 'b', 'c'] as const).flatMap((id) =>
      [1, 2, -1.5].map((m) => row(id, m, slope[id] * m)),
    );
    const posterior = fitDrift(rows, { prior });
    expectFinite(posterior);
    if (prior === 'flat') {
      expect(posterior.registers.middle.state).toBe('exact');
      expect(ownSlope(posterior, grand('c'), 'middle').slopeCentsPerPct).toBeCloseTo(5.5, 4);
      // The sample standard deviation of the three slopes.
      expect(posterior.registers.middle.slopeSd).toBeCloseTo(1.8028, 3);
    }
  });

  test('one interval each', () => {
    const rows = Array.from({ length: 20 }, (_, i) => {
      const m = 2 * random.normal();
      return row(`i${i}`, m, (3 + random.normal()) * m + random.normal(), 0.5);
    });
    const posterior = fitDrift(rows, { prior });
    expectFinite(posterior);
    expect(posterior.registers.middle.note).toContain('One interval each');
    expectFinite(predictOffset(posterior, grand('i3'), 'middle', change));
  });

  test.each([
    ['nothing at all', []],
    ['intervals without any change of moisture', [row('a', 0, 1), row('b', 0, -1), row('b', 0, 0.5)]],
    ['fewer rows than columns', [row('a', 1, 3, 0.5)]],
  ])('%s', (_, rows) => {
    const posterior = fitDrift(rows, { prior });
    expectFinite(posterior);
    const expected = predictOffset(posterior, grand('a'), 'middle', change);
    if (prior === 'trade') {
      expectFinite(expected);
      expect(expected?.parts.moistureCents).toBeGreaterThan(1);
    } else if (rows.length !== 1) {
      expect(posterior.registers.middle.state).toBe('unknown');
      expect(expected).toBeNull();
    }
  });

  test('columns that cannot be told apart are fitted once', () => {
    const rows = Array.from({ length: 12 }, (_, i) => ({
      ...row(`i${i % 3}`, i - 5, 2 * (i - 5) + random.normal(), (i % 4) / 4),
      temperatureChangeC: 3 * (i - 5),
    }));
    const posterior = fitDrift(rows, { prior });
    expectFinite(posterior);
    if (prior === 'flat') expect(posterior.registers.middle.columns).toEqual(['moisture', 'years']);
  });
});

test('before any visit the trade speaks, wider than after many', () => {
  const before = fitDrift([], { prior: 'trade' });
  for (const register of registers) expect(before.registers[register].state).toBe('prior only');
  const rows = Array.from({ length: 60 }, (_, i) => {
    const m = 2 * random.normal();
    return row(`i${i % 10}`, m, 3.1 * m + random.normal(), 0.5);
  });
  const after = fitDrift(rows, { prior: 'trade' });
  const sd = (posterior: DriftPosterior) => ownSlope(posterior, grand('i1'), 'middle').slopeSd;
  expect(sd(after)).toBeLessThan(sd(before) / 2);
});

test('a posterior survives JSON and predicts the same', () => {
  const rows = Array.from({ length: 30 }, (_, i) =>
    row(`i${i % 6}`, i % 5, 3 * (i % 5) + random.normal(), 0.3),
  );
  const posterior = fitDrift(rows, { prior: 'trade', lagDays: [5] });
  const kept = JSON.parse(JSON.stringify(posterior)) as DriftPosterior;
  expect(predictOffset(kept, grand('i2'), 'middle', change)).toEqual(
    predictOffset(posterior, grand('i2'), 'middle', change),
  );
});

test.each([
  ['moistureChangePct', { moistureChangePct: Number.NaN }],
  ['years', { years: -1 }],
  ['temperatureChangeC', { temperatureChangeC: Number.POSITIVE_INFINITY }],
  ['changeCents.middle', { changeCents: { middle: Number.NaN } }],
  ['2 values for 7 lags', { moistureChangePct: [1, 2] }],
])('a bad %s is refused by name', (name, fault) => {
  expect(() =>
    fitDrift([{ ...row('a', 1, 3), ...fault }], {
      prior: 'trade',
      ...(name.includes('lags') ? {} : { lagDays: [5] }),
    }),
  ).toThrow(new RegExp(name.replace('.', '\\.')));
});
