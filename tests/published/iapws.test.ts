/**
 * Saturation of water against the international standard's program-check values.
 * Source: IAPWS R7-97 (IF97) tables 35 and 36; IAPWS R14-08 table 3 (ice); the triple point from memory.
 *
 * Tolerance 300 ppm over water: Hyland-Wexler (1983) stands 110 to 250 ppm from IF97 between 0 and 60 °C (temperature scale and
 * data differ by as much). Over ice 600 ppm, and at the triple point 500: the formula dates from before the scale of 1990.
 */
import { describe, expect, test } from 'vitest';
import { saturationPressurePa } from '../../server/science/index.ts';

describe('IAPWS', () => {
  test.each([
    ['R7-97 table 35, 300 K', 300 - 273.15, 3536.58941, 300e-6],
    ['R7-97 table 36, 0.1 MPa boils at 372.755919 K', 372.755919 - 273.15, 100_000, 300e-6],
    ['reference equation of state, 100 °C', 100, 101_417.99666, 300e-6],
    ['R14-08 table 3, ice at 230 K', 230 - 273.15, 8.94735, 600e-6],
    ['triple point, 273.16 K (from memory)', 0.01, 611.657, 500e-6],
  ])('%s', (_, temperatureC, pressurePa, relative) => {
    expect(Math.abs(saturationPressurePa(temperatureC) / pressurePa - 1)).toBeLessThanOrEqual(relative);
  });
});
