/**
 * Worked examples of humid air by others, each by its own saturation formula.
 * Sources beside each. Tolerances: what separates their formula from Hyland-Wexler at that point (at most 0.1 % of pressure,
 * 0.03 K of dew point), or the digits they print.
 */
import { describe, expect, test } from 'vitest';
import {
  absoluteHumidityGm3,
  dewPointC,
  humidityAtTemperaturePct,
  saturationPressurePa,
} from '../../server/science/index.ts';

const within = (value: number | null, expected: number, tolerance: number) =>
  expect(Math.abs((value ?? Number.NaN) - expected)).toBeLessThanOrEqual(tolerance);

describe('MetPy, tests/calc/test_thermo.py (Bolton 1980)', () => {
  test.each([
    [5, 872],
    [10, 1227],
    [18, 2063],
    [25, 3167],
  ])('saturation at %i °C: %i Pa, 0.1 %', (temperatureC, pressurePa) => {
    within(saturationPressurePa(temperatureC), pressurePa, 0.001 * pressurePa);
  });

  test('25 °C with dew point 15 °C is at 53.80 %', () =>
    within(humidityAtTemperaturePct(15, 100, 25), 53.8, 0.06));
  test('70 °F with dew point 55 °F is at 58.935 %', () =>
    within(humidityAtTemperaturePct(((55 - 32) * 5) / 9, 100, ((70 - 32) * 5) / 9), 58.935, 0.06));

  test.each([
    [30, 30, 11],
    [25, 45, 12],
    [10, 55, 1],
    [20, 80, 16],
    [25, 85, 22],
  ])('dew point of %i °C and %i %% rounds to %i °C', (temperatureC, humidityPct, dewC) => {
    within(dewPointC(temperatureC, humidityPct), dewC, 0.53);
  });
});

describe('others', () => {
  test('22 °C and 78 %: 15.14 g/m³ and dew point 17.98 °C (a worked question, assignmentexpert 86009; Magnus 17.27/237.7)', () => {
    within(absoluteHumidityGm3(22, 78), 15.14, 0.02);
    within(dewPointC(22, 78), 17.98, 0.03);
  });
  test('40 °C and 50 %: dew point 27.6 °C (Vaisala note B210973EN, from memory)', () =>
    within(dewPointC(40, 50), 27.6, 0.05));
});

/** Computed elsewhere with the same formula and Rv 461.523 J/(kg K), to the digits given: a check of the arithmetic. */
describe('computed with Hyland-Wexler', () => {
  test.each([
    [10, 50, 0.063, 4.698],
    [15, 40, 1.522, 5.13],
    [20, 30, 1.914, 5.186],
    [20, 50, 9.272, 8.643],
    [22, 45, 9.534, 8.737],
    [30, 60, 21.388, 18.209],
    [40, 50, 27.585, 25.544],
  ])('%i °C, %i %%: dew point %f °C, %f g/m³', (temperatureC, humidityPct, dewC, gm3) => {
    within(dewPointC(temperatureC, humidityPct), dewC, 0.0006);
    within(absoluteHumidityGm3(temperatureC, humidityPct), gm3, 0.0006);
  });

  test('no trouble where the branches meet: dew points about 0 °C rise steadily', () => {
    const dews = Array.from({ length: 400 }, (_, i) => dewPointC(5, 70 - 0.02 * (200 - i)) ?? Number.NaN);
    expect(Math.min(...dews)).toBeLessThan(0);
    expect(Math.max(...dews)).toBeGreaterThan(0);
    expect(dews.every((dew, i) => i === 0 || dew >= (dews[i - 1] ?? Number.NaN))).toBe(true);
    // Between the branches, 611.154 Pa over ice and 611.213 Pa over water, the vapour saturates at 0 °C itself.
    expect(dewPointC(5, (100 * 611.18) / saturationPressurePa(5))).toBe(0);
    for (const t of [-0.001, 0, 0.001]) within(dewPointC(t, 100), t, 0.001);
  });
});
