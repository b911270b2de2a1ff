/** How far unisons have spread: learned of each instrument, and never coming back. */
import { describe, expect, test } from 'vitest';
import {
  addSpread,
  fitSpread,
  overallSpread,
  predictSpread,
  type SpreadObservation,
  seededRandom,
  spreadBeyond,
} from '../../server/science/drift/index.ts';
import { toleranceFor } from '../../server/science/pitch.ts';

describe('unison spread', () => {
  const random = seededRandom(2);
  const learned: SpreadObservation[] = Array.from({ length: 120 }, (_, i) => {
    const netPct = 1.5 * random.normal();
    const rangePct = Math.abs(netPct) + random.uniform();
    const years = 0.3 + 0.4 * random.uniform();
    const u = i % 12 === 0 ? 2.4 : 1.2;
    const cents =
      Math.sqrt(0.25 + u ** 2 * (netPct ** 2 + 0.16 * rangePct ** 2) + 0.64 * years) *
      Math.exp(0.2 * random.normal());
    const reading =
      i % 5 === 4
        ? { word: cents < 1.5 ? 'clean' : cents < 3 ? 'slow beat' : 'sour' }
        : { cents, sampled: 10 };
    return { instrument: `i${i % 12}`, netPct, rangePct, years, reading } as SpreadObservation;
  });
  const posterior = fitSpread(learned);
  const change = { netPct: 2, rangePct: 2.5, years: 0.5 };

  test('an instrument whose strings stray more is told apart', () => {
    const loose = predictSpread(posterior, 'i0', change).medianCents;
    const firm = predictSpread(posterior, 'i5', change).medianCents;
    expect(loose / firm).toBeGreaterThan(1.4);
  });

  test('it does not come back: a range without a net change leaves some', () => {
    const back = predictSpread(posterior, 'i5', { netPct: 0, rangePct: 3, years: 0.5 });
    const still = predictSpread(posterior, 'i5', { netPct: 0, rangePct: 0, years: 0.5 });
    expect(back.medianCents).toBeGreaterThan(1.2 * still.medianCents);
  });

  test('the band holds the median, and the chance beyond the median is one half', () => {
    const told = predictSpread(posterior, 'i5', change);
    expect(told.low80Cents).toBeLessThan(told.medianCents);
    expect(told.high80Cents).toBeGreaterThan(told.medianCents);
    expect(spreadBeyond(told, told.medianCents)).toBeCloseTo(0.5, 3);
  });

  test('how tunings are left is learned from readings right after them, not from long intervals alone', () => {
    // Truth: left at 0.5, no interval shorter than three months, and much that use does: alone they cannot tell the two apart.
    const draw = seededRandom(5);
    const found: SpreadObservation[] = Array.from({ length: 60 }, (_, i) => {
      const [netPct, years] = [0.6 * draw.normal(), 0.25 + 0.05 * draw.uniform()];
      const change = { netPct, rangePct: Math.abs(netPct) + 0.3, years };
      const cents = Math.sqrt(0.25 + 1.44 * (netPct ** 2 + 0.16 * change.rangePct ** 2) + 6 * years);
      return {
        instrument: `j${i % 10}`,
        ...change,
        reading: { cents: cents * Math.exp(0.2 * draw.normal()), sampled: 12 },
      };
    });
    const left: SpreadObservation[] = Array.from({ length: 60 }, (_, i) => ({
      ...{ instrument: `j${i % 10}`, netPct: 0, rangePct: 0, years: 0 },
      reading: { cents: 0.5 * Math.exp(0.1 * draw.normal()), sampled: 12 },
    }));
    const [alone, both] = [fitSpread(found), fitSpread([...found, ...left])];
    const justTuned = (posterior: typeof both) =>
      spreadBeyond(
        predictSpread(posterior, 'j1', { netPct: 0, rangePct: 0, years: 0 }),
        toleranceFor('studio').unisonCents,
      );
    expect(both.left).toBeCloseTo(0.5, 1);
    expect(Math.abs(both.left - 0.5)).toBeLessThan(Math.abs(alone.left - 0.5));
    expect(justTuned(both)).toBeLessThan(0.02);
    // Clean readings leave the error of drifted ones alone.
    expect(both.error / alone.error).toBeGreaterThan(0.7);
  });

  test('readings by register become one: the widest, or the worst word; not measured is not zero', () => {
    expect(
      overallSpread({
        tenor: { cents: 2.5, sampled: 3 },
        middle: { cents: 1.2, sampled: 4 },
        top: { word: 'slow beat' },
      }),
    ).toEqual({
      cents: 2.5,
      sampled: 7,
    });
    expect(overallSpread({ tenor: { word: 'clean' }, middle: { word: 'slow beat' } })).toEqual({
      word: 'slow beat',
    });
    expect(overallSpread({ middle: { cents: 0.6, sampled: 5 }, tenor: { word: 'sour' } })).toEqual({
      word: 'sour',
    });
    expect(overallSpread({})).toBeNull();
  });

  test('one more reading moves an instrument as the fit would', () => {
    const last = learned.at(-1) as SpreadObservation;
    const added = addSpread(fitSpread(learned.slice(0, -1)), last);
    const anew = predictSpread(posterior, last.instrument, change).medianCents;
    expect(Math.abs(predictSpread(added, last.instrument, change).medianCents / anew - 1)).toBeLessThan(0.05);
  });

  test('a bad reading is refused by name', () => {
    expect(() =>
      fitSpread([{ ...learned[0], reading: { cents: -1, sampled: 4 } } as SpreadObservation]),
    ).toThrow(/cents/);
    expect(() => fitSpread([{ ...learned[0], netPct: Number.NaN } as SpreadObservation])).toThrow(/netPct/);
  });
});
