/**
 * What working technicians report: common practice, no source, unless a source stands beside the check.
 * They are figures to be met roughly; the tolerance is the range they give.
 */
import { describe, expect, test } from 'vitest';
import { planCorrection } from '../../server/contract/index.ts';
import {
  type Air,
  actionPart,
  advanceReference,
  advanceSlab,
  type BoardFinding,
  type BoardStress,
  boardStressClass,
  bridgeBodyPart,
  bridgeCapPart,
  casePart,
  createSlab,
  equilibriumMoisturePct,
  type Finish,
  keyPart,
  type Part,
  pinblockPart,
  RUST_PCT,
  rustHours,
  soundboardPart,
  sweatMarginK,
  toleranceFor,
} from '../../server/science/index.ts';

const HOURS_A_DAY = 24;
const air = (humidityPct: number, temperatureC = 20): Air => ({ temperatureC, humidityPct });
const steady = (humidityPct: number, days: number): Air[] =>
  new Array<Air>(days * HOURS_A_DAY).fill(air(humidityPct));
const soundboard = (finish: Finish, species: 'spruce-sitka' | 'spruce-red' = 'spruce-sitka') =>
  soundboardPart({ thicknessMm: 8, finish, species });

/** Days until a part has come half way from one humidity to another. */
function halfDays(part: Part, fromPct: number, toPct: number): number {
  const [from, to] = [equilibriumMoisturePct(20, fromPct), equilibriumMoisturePct(20, toPct)];
  const means = new Float64Array(365 * HOURS_A_DAY);
  advanceSlab(createSlab(part, from), steady(toPct, 365), { means });
  return means.findIndex((mean) => Math.abs(mean - from) >= Math.abs(to - from) / 2) / HOURS_A_DAY;
}

describe('how fast parts follow the air', () => {
  test('bare 8 mm spruce panel, 50 to 30 %: half in 0.4 to 1.2 days, done (95 %) in 3 to 4', () => {
    expect(halfDays(soundboard('bare'), 50, 30)).toBeGreaterThan(0.4);
    expect(halfDays(soundboard('bare'), 50, 30)).toBeLessThan(1.2);
    const [from, to] = [equilibriumMoisturePct(20, 50), equilibriumMoisturePct(20, 30)];
    const means = new Float64Array(6 * HOURS_A_DAY);
    advanceSlab(createSlab(soundboard('bare'), from), steady(30, 6), { means });
    const done = means.findIndex((mean) => (from - mean) / (from - to) >= 0.95) / HOURS_A_DAY;
    expect(done).toBeGreaterThan(2);
    expect(done).toBeLessThan(4);
  });

  // Half times are ln 2 of the time constants reported: lacquer and varnish 3-7 days, polyurethane 10-20.
  test.each([
    ['lacquer', 3, 7],
    ['varnish', 3, 7],
    ['polyurethane', 10, 20],
  ] as const)('8 mm board, %s: time constant %i to %i days', (finish, least, most) => {
    const days = halfDays(soundboard(finish), 50, 40) / Math.LN2;
    expect(days).toBeGreaterThan(least);
    expect(days).toBeLessThan(most);
  });

  test.each([
    ['bridge cap', bridgeCapPart(), 1, 3],
    ['bridge body', bridgeBodyPart(), 14, 42],
    ['pinblock', pinblockPart(), 21, 70],
    ['key', keyPart(), 2, 7],
    ['action part', actionPart(), 0.1, 2],
    ['case', casePart(), 30, 180],
  ] as const)('%s comes half way in %s', (_, part, least, most) => {
    expect(halfDays(part, 50, 40)).toBeGreaterThanOrEqual(least);
    expect(halfDays(part, 50, 40)).toBeLessThanOrEqual(most);
  });
});

/** A board run hour by hour with its slow mean, from a long past at one humidity. */
function classes(
  course: readonly Air[],
  pastPct: number,
  {
    finish = 'varnish',
    species = 'spruce-sitka',
    findings = [],
  }: { finish?: Finish; species?: 'spruce-sitka' | 'spruce-red'; findings?: BoardFinding[] } = {},
): BoardStress[] {
  const past = equilibriumMoisturePct(20, pastPct);
  const means = new Float64Array(course.length);
  advanceSlab(createSlab(soundboard(finish, species), past), course, { means });
  let referencePct = past;
  return Array.from(means, (moisturePct) => {
    referencePct = advanceReference(referencePct, moisturePct, 1);
    return boardStressClass({ species, moisturePct, referencePct, construction: 'solid', findings });
  });
}

const worstOf = (course: readonly BoardStress[]) => Math.max(...course.map((one) => one.class ?? Number.NaN));

describe('the soundboard', () => {
  const year: Air[] = Array.from({ length: 365 * HOURS_A_DAY }, (_, hour) =>
    air(48 - 10 * Math.cos((2 * Math.PI * hour) / (365 * HOURS_A_DAY))),
  );

  test.each(['bare', 'lacquer', 'varnish', 'shellac', 'polyurethane'] as const)(
    'a year between 38 and 58 %% stays at class 1 or below (%s)',
    (finish) => {
      expect(worstOf(classes(year, 48, { finish }))).toBeLessThanOrEqual(1);
    },
  );

  test.each(['bare', 'lacquer', 'varnish', 'shellac', 'polyurethane'] as const)(
    'three weeks at 25 %% after 42 %% reach class 2, on the dry side (%s)',
    (finish) => {
      const course = classes(steady(25, 21), 42, { finish });
      expect(worstOf(course)).toBe(2);
      expect(course.at(-1)?.side).toBe('dry');
    },
  );

  test('the same in red spruce, which moves less, under varnish', () => {
    expect(worstOf(classes(steady(25, 21), 42, { species: 'spruce-red' }))).toBe(2);
  });

  test.each([20, 30, 35, 45])('45 %% in steady air is never wet, even from a past at %i %%', (pastPct) => {
    const course = classes(steady(45, 720), pastPct);
    expect(course.every(({ side }) => side !== 'wet')).toBe(true);
  });

  test('what lies above the air asked for counts at once by a part and soon in full: a past at 20 %, then 46, 50 and 60 %', () => {
    const referencePct = equilibriumMoisturePct(20, 20);
    const at = (humidityPct: number) =>
      boardStressClass({
        species: 'spruce-sitka',
        moisturePct: equilibriumMoisturePct(20, humidityPct),
        referencePct,
        construction: 'solid',
        findings: [],
      });
    expect(at(46).class).toBe(0);
    expect(at(50)).toMatchObject({ class: 1, side: 'wet' });
    // All of the swelling: (11.0 - 4.5) % x 0.00148 over 0.005.
    expect(at(60).ratio).toBeCloseTo(((equilibriumMoisturePct(20, 60) - referencePct) * 0.00148) / 0.005, 10);
  });

  test('after a long past at 42 %, days at 85 % are class 3 on the wet side (compression set: days at 80 to 90 %)', () => {
    const course = classes(steady(85, 7), 42);
    expect(course.at(-1)).toMatchObject({ class: 3, side: 'wet' });
  });

  test('findings lower what is allowed: an open crack makes class 3 of the same three weeks', () => {
    const course = classes(steady(25, 21), 42, { findings: ['open crack'] });
    expect(worstOf(course)).toBe(3);
    expect(course.at(-1)?.reason).toMatch(/open crack/);
  });

  test('a laminated board gets no class, and says why', () => {
    const verdict = boardStressClass({
      species: 'spruce-sitka',
      moisturePct: 5,
      referencePct: 9,
      construction: 'laminated',
      findings: [],
    });
    expect(verdict).toMatchObject({ class: null, side: null, ratio: null });
    expect(verdict.reason).toMatch(/laminated/i);
  });

  // Source: Mecklenburg, Tumosa, Erhardt 1998 (yield strain 0.004, read) with Wood Handbook coefficients, computed: restrained
  // Sitka spruce, radial, from 50 % at 20 °C yields at 32.4 %. To 0.1 %RH.
  test('Sitka spruce held from 50 % reaches the yield strain at 32.4 %', () => {
    const at = (humidityPct: number) =>
      boardStressClass({
        species: 'spruce-sitka',
        moisturePct: equilibriumMoisturePct(20, humidityPct),
        referencePct: equilibriumMoisturePct(20, 50),
        construction: 'solid',
        findings: [],
      }).class;
    expect(at(32.3)).toBe(3);
    expect(at(32.5)).toBe(2);
  });
});

describe('thresholds', () => {
  test('rust: 48 hours above 65 % in a week are counted; gaps are not', () => {
    expect(RUST_PCT).toBe(65);
    const week = [...new Array<number>(48).fill(70), ...new Array<number>(119).fill(50), null];
    expect(rustHours(week).at(-1)).toBe(48);
    expect(rustHours([...week, 50, 50]).at(-1)).toBe(46);
  });

  // Computed dew points: 20 °C and 50 % 9.3 °C. A piano brought in colder than this sweats, for some hours.
  test('a piano brought from 0 °C into 20 °C and 50 % sweats at once and not a day later', () => {
    const margins = sweatMarginK(new Array<Air>(24).fill(air(50)), 6, 0);
    expect(margins[0]).toBeLessThan(0);
    expect(margins[23]).toBeGreaterThan(5);
    expect(sweatMarginK([air(50)], 6, 12)[0]).toBeGreaterThan(0);
  });
});

describe('tuning', () => {
  test.each([
    ['concert', 1, 1, 2, 0.5, 1],
    ['studio', 3, 3, 5, 1.5, 1.5],
    ['practice', 6, 6, 10, 3, 3],
    ['worship', 4, 4, 6, 2, 2],
    ['home', 5, 8, 10, 2, 3],
  ] as const)('%s: level %f to %f, step %f, unisons %f to %f cents', (use, low, high, step, uLow, uHigh) => {
    const { levelCents, stepCents, unisonCents } = toleranceFor(use);
    expect(levelCents).toBeGreaterThanOrEqual(low);
    expect(levelCents).toBeLessThanOrEqual(high);
    expect(stepCents).toBe(step);
    expect(unisonCents).toBeGreaterThanOrEqual(uLow);
    expect(unisonCents).toBeLessThanOrEqual(uHigh);
  });

  const flat = (cents: number) => ({
    bass: -cents,
    tenor: -cents,
    middle: -cents,
    treble: -cents,
    top: -cents,
  });
  const kinds = (cents: number) => planCorrection(flat(cents)).passes.map(({ kind }) => kind);

  test('passes: fine to 3 cents, one pass to 8, correction and fine to 50, three passes and a return above', () => {
    expect(kinds(2)).toEqual(['fine']);
    expect(planCorrection(flat(2)).passes[0]?.leaveCents.middle).toBe(0);
    expect(kinds(7)).toEqual(['fine']);
    expect(planCorrection(flat(7)).passes[0]?.leaveCents.middle).toBeGreaterThan(0);
    expect(kinds(20)).toEqual(['correction', 'fine']);
    expect(kinds(60)).toEqual(['to pitch', 'correction', 'fine']);
    expect(planCorrection(flat(60)).cautions.join(' ')).toMatch(/follow-up/);
    expect(planCorrection(flat(30)).tuneAgainWithinMonths).toBe(6);
    expect(planCorrection(flat(20)).tuneAgainWithinMonths).toBeNull();
  });

  test('overpull: bass 10-16 %, tenor and middle 20-28 %, treble 25-38 % of the flatness, never over 25 cents', () => {
    const leave = planCorrection(flat(40)).passes[0]?.leaveCents;
    for (const [register, low, high] of [
      ['bass', 10, 16],
      ['tenor', 20, 28],
      ['middle', 20, 28],
      ['treble', 25, 38],
      ['top', 25, 38],
    ] as const) {
      expect(((leave?.[register] ?? Number.NaN) / 40) * 100).toBeGreaterThanOrEqual(low);
      expect(((leave?.[register] ?? Number.NaN) / 40) * 100).toBeLessThanOrEqual(high);
    }
    for (const cents of [50, 100, 300, 600]) {
      for (const { leaveCents } of planCorrection(flat(cents)).passes) {
        expect(Math.max(...Object.values(leaveCents).map((one) => one ?? 0))).toBeLessThanOrEqual(25);
      }
    }
  });

  test('whoever raises tension is told what can break', () => {
    expect(planCorrection(flat(15)).cautions.join(' ')).toMatch(/eye protection/);
    expect(planCorrection(flat(40), ['rust']).cautions.join(' ')).toMatch(/rust/);
    expect(planCorrection(flat(40), ['plate crack'])).toMatchObject({
      passes: [],
      reason: expect.stringMatching(/no raise/),
    });
    expect(planCorrection(flat(40), ['plate crack']).cautions.join(' ')).toMatch(/do not raise/);
    expect(planCorrection({ ...flat(0), middle: 12 }).cautions.join(' ')).not.toMatch(/break/);
  });

  test('what was not measured is not planned', () => {
    const nothing = { bass: null, tenor: null, middle: null, treble: null, top: null };
    expect(planCorrection(nothing).passes).toEqual([]);
    expect(planCorrection({ ...nothing, middle: -20 }).passes[0]?.leaveCents.bass).toBeNull();
  });
});
