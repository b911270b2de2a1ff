/**
 * Humid air.
 * Source: ASHRAE Handbook Fundamentals 2017, chapter 1: saturation pressure (table 3), humidity ratio at saturation
 * (table 2), standard atmosphere, example 1; read through the tests of PsychroLib, which quote them.
 */
import { describe, expect, test } from 'vitest';
import {
  dewPointC,
  humidityRatioKgKg,
  pressureAtAltitudePa,
  saturationPressurePa,
  vapourPressurePa,
} from '../../server/science/index.ts';

/** Half of the last digit printed, Pa, where that is coarser than the 300 ppm by which formula and table agree. */
const PRINTED: readonly (readonly [temperatureC: number, pressurePa: number, roundedPa: number])[] = [
  [-60, 1.08, 0.005],
  [-20, 103.24, 0.005],
  [-5, 401.74, 0.005],
  [5, 872.6, 0.05],
  [25, 3169.7, 0.05],
  [50, 12351.3, 0.05],
  [100, 101418.0, 0.05],
];

describe('ASHRAE Fundamentals 2017, chapter 1', () => {
  test.each(PRINTED)(
    'table 3, saturation at %f °C: %f Pa, to 300 ppm or the printed digit',
    (t, pa, roundedPa) => {
      expect(Math.abs(saturationPressurePa(t) - pa)).toBeLessThanOrEqual(Math.max(300e-6 * pa, roundedPa));
    },
  );

  // Tolerance: the ideal gas differs from the table's real gas by 0.5 to 1 %.
  test.each([
    [-50, 2.43e-5, 0.01],
    [-20, 0.0006373, 0.01],
    [-5, 0.0024863, 0.005],
    [5, 0.005425, 0.005],
    [25, 0.020173, 0.005],
    [50, 0.086863, 0.01],
  ])('table 2, humidity ratio at saturation at %f °C: %f kg/kg', (t, ratio, relative) => {
    expect(Math.abs((humidityRatioKgKg(t, 100) ?? Number.NaN) / ratio - 1)).toBeLessThanOrEqual(relative);
  });

  test('humidity ratio of 3169.7 Pa vapour in 95461 Pa: 0.0213603998047487 kg/kg', () => {
    // The percentage that holds exactly this vapour pressure in air of 30 °C; exact but for the molar-mass ratio's digits.
    const humidityPct = (100 * 3169.7) / saturationPressurePa(30);
    expect(vapourPressurePa(30, humidityPct)).toBeCloseTo(3169.7, 9);
    expect(humidityRatioKgKg(30, humidityPct, 95461)).toBeCloseTo(0.0213603998047487, 9);
  });

  // The tables are printed to whole pascals, five digits; the formula's exponent is rounded to as many.
  test.each([
    [0, 101325],
    [500, 95461],
    [1000, 89875],
  ])('standard atmosphere at %i m: %i Pa', (altitudeM, pressurePa) => {
    expect(Math.abs(pressureAtAltitudePa(altitudeM) - pressurePa)).toBeLessThanOrEqual(1);
  });

  test('example 1: air of 40 °C and 14 % has humidity ratio 0.0065 and dew point 7 °C, as the example rounds them', () => {
    expect(Math.abs((humidityRatioKgKg(40, 14) ?? Number.NaN) - 0.0065)).toBeLessThanOrEqual(0.0001);
    expect(Math.abs((dewPointC(40, 14) ?? Number.NaN) - 7)).toBeLessThanOrEqual(0.5);
  });

  test('25 °C, 50 %, 101.325 kPa: 0.0098826 kg/kg and dew point 13.864 °C (a public test from the same saturation)', () => {
    expect(Math.abs((humidityRatioKgKg(25, 50) ?? Number.NaN) / 0.0098826 - 1)).toBeLessThanOrEqual(300e-6);
    expect(dewPointC(25, 50)).toBeCloseTo(13.864, 2);
  });
});
