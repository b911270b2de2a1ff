/**
 * The normal distribution, and chances beyond a limit.
 * Source: Abramowitz and Stegun, Handbook of Mathematical Functions, tables 26.1 and 26.2 (from memory, 15 digits).
 */
import { describe, expect, test } from 'vitest';
import { normalCdf, probabilityBeyond } from '../../server/science/index.ts';

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
