/**
 * The residual's law and its sum with a normal part, against scipy 1.17.1 (`scipy.stats.t`, and `scipy.integrate.quad` over the
 * t density for the sum). Tolerance: sixteen quadrature nodes leave up to 1.2e-4 in the tails; half a thousandth is far below what a
 * band could show.
 */
import { describe, expect, test } from 'vitest';
import { band } from '../../server/science/drift/index.ts';
import { cumulative, probabilityOutside, spreadSd } from '../../server/science/drift/residual.ts';

describe("Student's t with five degrees of freedom, computed with scipy 1.17.1", () => {
  const spread = { meanCents: 0, normalSdCents: 0, tScaleCents: 1 };
  test.each([
    [-6, 0.00092306914],
    [-3, 0.01504962395],
    [-1.475884, 0.1],
    [-0.5, 0.31914943582],
    [0, 0.5],
    [1, 0.81839126618],
    [2.570582, 0.975],
    [4, 0.99483829226],
  ])('P(T ≤ %f)', (at, expected) => {
    expect(Math.abs(cumulative(spread, at) - expected)).toBeLessThan(5e-4);
  });

  test('its standard deviation is √(5/3)', () => {
    expect(spreadSd(spread)).toBeCloseTo(Math.sqrt(5 / 3), 12);
  });
});

describe('normal of sd 1.5 plus 0.8 of that t, computed with scipy 1.17.1', () => {
  const spread = { meanCents: 10, normalSdCents: 1.5, tScaleCents: 0.8 };
  test.each([
    [0.5, 0.61085324906],
    [1, 0.71306877896],
    [2, 0.8683678254],
    [3, 0.95165641161],
    [5, 0.9959495956],
  ])('P(sum ≤ %f)', (at, expected) => {
    expect(Math.abs(cumulative(spread, 10 + at) - expected)).toBeLessThan(5e-4);
  });

  test('the 80 % band reaches 2.2967 to either side', () => {
    const { lowCents, highCents } = band(spread, 0.8);
    expect(Math.abs(highCents - 12.296723)).toBeLessThan(5e-3);
    expect(Math.abs(lowCents - 7.703277)).toBeLessThan(5e-3);
  });

  test('beyond a limit to either side', () => {
    expect(probabilityOutside({ ...spread, meanCents: 0 }, 2)).toBeCloseTo(2 * (1 - 0.8683678254), 3);
  });
});

test('without any spread the answer is certain', () => {
  const known = { meanCents: 3, normalSdCents: 0, tScaleCents: 0 };
  expect(probabilityOutside(known, 2)).toBe(1);
  expect(probabilityOutside(known, 4)).toBe(0);
});
