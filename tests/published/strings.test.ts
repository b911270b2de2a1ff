/**
 * Strings: physics.
 * Sources: Mersenne's laws, f = (1/2L) sqrt(T/mu) (read); steel near room temperature (200 GPa, 7850 kg/m³, 11.5e-6/K, from
 * memory). Values computed from these. Temperature of a whole piano: common practice, no source.
 */
import { describe, expect, test } from 'vitest';
import {
  centsForTensionRatio,
  fastCentsPerK,
  freeStringCentsPerK,
  offsetAtReference,
  REGISTERS,
  slowCentsPerK,
  stringStressPa,
  stringTensionN,
  temperatureEffectCents,
  tensionRatioForCents,
} from '../../server/science/index.ts';

describe('a plain string', () => {
  test('1 % more tension is 8.6132 cents; 100 cents take 12.2 % more, 20 cents 2.3 %', () => {
    expect(centsForTensionRatio(1.01)).toBeCloseTo(8.6132, 4);
    expect(tensionRatioForCents(100)).toBeCloseTo(1.122, 3);
    expect(tensionRatioForCents(20)).toBeCloseTo(1.0234, 4);
  });

  test('four times the tension is an octave (Mersenne)', () => {
    expect(centsForTensionRatio(4)).toBeCloseTo(1200, 10);
    expect(stringTensionN(440, 0.4, 1) / stringTensionN(220, 0.4, 1)).toBeCloseTo(4, 10);
    expect(stringTensionN(440, 0.4, 1)).toBeCloseTo(stringTensionN(880, 0.2, 1), 8);
  });

  test('1 mm, 0.4 m, 440 Hz: 763.915 N, 972.646 MPa', () => {
    expect(stringTensionN(440, 0.4, 1)).toBeCloseTo(763.915, 3);
    expect(stringStressPa(440, 0.4) / 1e6).toBeCloseTo(972.646, 3);
  });

  test('a G4 of 489 mm and 0.966 mm at 392 Hz bears 844 N (common practice, no source), to 1 %', () => {
    expect(Math.abs(stringTensionN(392, 0.489, 0.966) / 844 - 1)).toBeLessThan(0.01);
  });

  test('warmed alone by 1 K it falls by 2.047 cents', () => {
    expect(freeStringCentsPerK(440, 0.4)).toBeCloseTo(-2.047, 3);
  });

  // Typical lengths, from memory; cents per kelvin computed elsewhere to 0.1.
  test.each([
    ['F2, medium grand', 87.3, 1.3, -4.9],
    ['G2, short piano', 98, 1.05, -6.0],
    ['A3', 220, 0.78, -2.2],
    ['A5', 880, 0.205, -2.0],
    ['C7', 2093, 0.09, -1.8],
  ])('%s', (_, hz, lengthM, centsPerK) => {
    expect(Math.abs(freeStringCentsPerK(hz, lengthM) - centsPerK)).toBeLessThanOrEqual(0.06);
  });
});

describe('a piano that warms', () => {
  test('strings before the plate: every register falls by 1.4 to 6 cents/K, the low tenor most', () => {
    const fast = REGISTERS.map((register) => fastCentsPerK(register));
    expect(Math.max(...fast)).toBeLessThan(-1.4);
    expect(Math.min(...fast)).toBeGreaterThan(-6);
    expect(Math.min(...fast)).toBe(fastCentsPerK('tenor'));
  });

  test('whole piano 5.6 K cooler overnight: +2 cents, tenor +1 to +1.5 (common practice, no source), to 0.25', () => {
    const cooled = { stringC: 16.4, plateC: 16.4, referenceC: 22 };
    const middle = temperatureEffectCents('middle', cooled);
    const tenor = temperatureEffectCents('tenor', cooled);
    expect(middle?.fastCents).toBeCloseTo(0, 10);
    expect(Math.abs((middle?.slowCents ?? Number.NaN) - 2)).toBeLessThan(0.25);
    expect(tenor?.slowCents).toBeGreaterThanOrEqual(1);
    expect(tenor?.slowCents).toBeLessThanOrEqual(1.5);
  });

  test('-0.35 cents/K is what steel expanding 2 ppm/K more than iron would give (0.18 cents per ppm), to 0.05', () => {
    expect(Math.abs(slowCentsPerK('middle') - -2 * 0.18)).toBeLessThan(0.05);
  });

  test('an offset is put to the reference temperature, and back', () => {
    const temperature = { stringC: 18, plateC: 20, referenceC: 21 };
    const effect = temperatureEffectCents('treble', temperature);
    const sum = (effect?.fastCents ?? Number.NaN) + (effect?.slowCents ?? Number.NaN);
    expect((offsetAtReference('treble', 3, temperature) ?? Number.NaN) + sum).toBeCloseTo(3, 12);
    expect(offsetAtReference('treble', null, temperature)).toBeNull();
    expect(offsetAtReference('treble', 3, { ...temperature, plateC: null })).toBeNull();
  });
});
