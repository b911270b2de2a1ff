/**
 * The normal distribution, and chances beyond a limit.
 * Source: Abramowitz and Stegun, Handbook of Mathematical Functions, tables 26.1 and 26.2 (from memory, 15 digits).
 */
import { describe, expect, test } from 'vitest';
import {
  normalCdf,
  predictOffset,
  probabilityBeyond,
  REGISTERS,
  tradePrior,
} from '../../server/science/index.ts';

describe('P(x)', () => {
  test.each([
    [0, 0.5],
    [1, 0.841344746068543],
    [1.96, 0.97500210485178],
    [2, 0.977249868051821],
    [3, 0.99865010196837],
    [4, 0.999968328758167],
  ])('%f', (x, p) => {
    expect(Math.abs(normalCdf(x) - p)).toBeLessThan(1e-14);
    expect(Math.abs(normalCdf(-x) - (1 - p))).toBeLessThan(1e-14);
  });
  test('far tail: Q(6) = 9.8659e-10', () =>
    expect(Math.abs(normalCdf(-6) / 9.865876450377e-10 - 1)).toBeLessThan(1e-10));
  test('the two expansions meet at 3', () =>
    expect(Math.abs(normalCdf(3 + 1e-13) - normalCdf(3 - 1e-13))).toBeLessThan(1e-14));
  test('rises from 0 to 1', () => {
    expect(normalCdf(-50)).toBe(0);
    expect(normalCdf(50)).toBe(1);
    expect(normalCdf(Number.NaN)).toBeNaN();
  });
});

describe('beyond a limit on either side', () => {
  test('1.96 sd: 5 %', () =>
    expect(probabilityBeyond(0, 2, 3.92)).toBeCloseTo(2 * (1 - 0.97500210485178), 12));
  test('certain offsets', () => {
    expect(probabilityBeyond(3, 0, 3)).toBe(0);
    expect(probabilityBeyond(-3.1, 0, 3)).toBe(1);
    expect(probabilityBeyond(null, 1, 3)).toBeNull();
    expect(() => probabilityBeyond(0, -1, 3)).toThrow(/sdCents/);
  });
});

/** Common practice, no source: medians and 90 % ranges in cents per %RH, here per % moisture at 0.16 to 1. */
describe('trade prior', () => {
  const grand = tradePrior('grand');
  test('A4 about 3 cents per % moisture (2 to 5); the tenor most, the top least', () => {
    expect(grand.middle.slope.mean).toBeGreaterThan(2);
    expect(grand.middle.slope.mean).toBeLessThan(5);
    const slopes = REGISTERS.map((register) => grand[register].slope.mean);
    expect(Math.max(...slopes)).toBe(grand.tenor.slope.mean);
    expect(Math.min(...slopes)).toBe(grand.top.slope.mean);
  });
  test('an upright moves more in the low tenor by 1.2 to 1.5', () => {
    const ratio = tradePrior('upright').tenor.slope.mean / grand.tenor.slope.mean;
    expect(ratio).toBeGreaterThanOrEqual(1.2);
    expect(ratio).toBeLessThanOrEqual(1.5);
  });
  test('a prediction adds its parts, and its doubts by squares', () => {
    const change = {
      leftCents: 1,
      leftSdCents: 0.5,
      moistureChangePct: 2,
      years: 0.5,
      temperatureChangeC: -4,
    };
    const { slope, ageing, temperature, residualSd } = grand.middle;
    const expected = 1 + 2 * slope.mean + 0.5 * ageing.mean - 4 * temperature.mean;
    const variance =
      0.25 + (2 * slope.sd) ** 2 + (0.5 * ageing.sd) ** 2 + (4 * temperature.sd) ** 2 + residualSd ** 2;
    expect(predictOffset(grand, 'middle', change)?.meanCents).toBeCloseTo(expected, 12);
    expect(predictOffset(grand, 'middle', change)?.sdCents).toBeCloseTo(Math.sqrt(variance), 12);
    expect(predictOffset(grand, 'middle', { ...change, moistureChangePct: null })).toBeNull();
  });
});
