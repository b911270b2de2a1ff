/**
 * Moisture of wood at equilibrium, all 228 cells.
 * Source: USDA Forest Products Laboratory, Wood Handbook FPL-GTR-190, Table 4-2 (read; the page shifts its °C labels
 * by a row, so the °F labels are used).
 *
 * Tolerance 0.065 % moisture: the table is printed to 0.1, and right coefficients stay within 0.055 to 0.062 of it, while
 * the slips met in public code (°C and °F sets mixed, 2.73e-7 for 2.73e-6, 4.53e-5 for 9.35e-5) miss a cell by 0.10 at least.
 */
import { describe, expect, test } from 'vitest';
import { equilibriumMoisturePct, FIBRE_SATURATION_PCT } from '../../server/science/index.ts';

const TOLERANCE_PCT = 0.065;
const HUMIDITY = [5, 10, 15, 20, 25, 30, 35, 40, 45, 50, 55, 60, 65, 70, 75, 80, 85, 90, 95];
const TABLE: readonly (readonly [fahrenheit: number, moisturePct: readonly number[]])[] = [
  [
    30,
    [1.4, 2.6, 3.7, 4.6, 5.5, 6.3, 7.1, 7.9, 8.7, 9.5, 10.4, 11.3, 12.4, 13.5, 14.9, 16.5, 18.5, 21.0, 24.3],
  ],
  [
    40,
    [1.4, 2.6, 3.7, 4.6, 5.5, 6.3, 7.1, 7.9, 8.7, 9.5, 10.4, 11.3, 12.3, 13.5, 14.9, 16.5, 18.5, 21.0, 24.3],
  ],
  [
    50,
    [1.4, 2.6, 3.6, 4.6, 5.5, 6.3, 7.1, 7.9, 8.7, 9.5, 10.3, 11.2, 12.3, 13.4, 14.8, 16.4, 18.4, 20.9, 24.3],
  ],
  [
    60,
    [1.3, 2.5, 3.6, 4.6, 5.4, 6.2, 7.0, 7.8, 8.6, 9.4, 10.2, 11.1, 12.1, 13.3, 14.6, 16.2, 18.2, 20.7, 24.1],
  ],
  [
    70,
    [1.3, 2.5, 3.5, 4.5, 5.4, 6.2, 6.9, 7.7, 8.5, 9.2, 10.1, 11.0, 12.0, 13.1, 14.4, 16.0, 17.9, 20.5, 23.9],
  ],
  [
    80,
    [1.3, 2.4, 3.5, 4.4, 5.3, 6.1, 6.8, 7.6, 8.3, 9.1, 9.9, 10.8, 11.7, 12.9, 14.2, 15.7, 17.7, 20.2, 23.6],
  ],
  [
    90,
    [1.2, 2.3, 3.4, 4.3, 5.1, 5.9, 6.7, 7.4, 8.1, 8.9, 9.7, 10.5, 11.5, 12.6, 13.9, 15.4, 17.3, 19.8, 23.3],
  ],
  [
    100,
    [1.2, 2.3, 3.3, 4.2, 5.0, 5.8, 6.5, 7.2, 7.9, 8.7, 9.5, 10.3, 11.2, 12.3, 13.6, 15.1, 17.0, 19.5, 22.9],
  ],
  [
    110,
    [1.1, 2.2, 3.2, 4.0, 4.9, 5.6, 6.3, 7.0, 7.7, 8.4, 9.2, 10.0, 11.0, 12.0, 13.2, 14.7, 16.6, 19.1, 22.4],
  ],
  [
    120,
    [1.1, 2.1, 3.0, 3.9, 4.7, 5.4, 6.1, 6.8, 7.5, 8.2, 8.9, 9.7, 10.6, 11.7, 12.9, 14.4, 16.2, 18.6, 22.0],
  ],
  [
    130,
    [1.0, 2.0, 2.9, 3.7, 4.5, 5.2, 5.9, 6.6, 7.2, 7.9, 8.7, 9.4, 10.3, 11.3, 12.5, 14.0, 15.8, 18.2, 21.5],
  ],
  [
    140,
    [0.9, 1.9, 2.8, 3.6, 4.3, 5.0, 5.7, 6.3, 7.0, 7.7, 8.4, 9.1, 10.0, 11.0, 12.1, 13.6, 15.3, 17.7, 21.0],
  ],
];

describe('Wood Handbook, Table 4-2', () => {
  test('has 228 cells here', () => {
    expect(TABLE.flatMap(([, row]) => row)).toHaveLength(228);
    expect(TABLE.every(([, row]) => row.length === HUMIDITY.length)).toBe(true);
  });

  test.each(TABLE)('at %i °F every humidity agrees', (fahrenheit, row) => {
    const temperatureC = ((fahrenheit - 32) * 5) / 9;
    const misses = HUMIDITY.flatMap((humidityPct, i) => {
      const difference = equilibriumMoisturePct(temperatureC, humidityPct) - (row[i] ?? Number.NaN);
      return Math.abs(difference) <= TOLERANCE_PCT ? [] : [{ humidityPct, difference }];
    });
    expect(misses).toEqual([]);
  });

  // Computed from equation (4-5), °C set, to three decimals; a check of the arithmetic.
  test.each([
    [10, 50, 9.466],
    [20, 30, 6.188],
    [20, 45, 8.485],
    [20, 65, 11.996],
    [25, 90, 20.281],
    [30, 80, 15.548],
  ])('equation (4-5) at %i °C and %i %%RH gives %f', (temperatureC, humidityPct, moisturePct) => {
    expect(equilibriumMoisturePct(temperatureC, humidityPct)).toBeCloseTo(moisturePct, 3);
  });

  test('dry air dries wood wholly, saturated air brings it near fibre saturation (about 30 %, page 13-17)', () => {
    expect(equilibriumMoisturePct(20, 0)).toBe(0);
    expect(equilibriumMoisturePct(20, 100)).toBeGreaterThan(26);
    expect(equilibriumMoisturePct(20, 100)).toBeLessThan(FIBRE_SATURATION_PCT);
  });

  test('below the table frost changes nothing: -25 °C is as -1.1 °C', () => {
    expect(equilibriumMoisturePct(-25, 50)).toBe(equilibriumMoisturePct(-1.1, 50));
    expect(equilibriumMoisturePct(-25, 50)).toBeCloseTo(9.5, 1);
  });
});
