/**
 * Humidity over saturated salts, and sensors against it.
 * Sources: L. Greenspan, J. Res. NBS 81A (1977) 89, from memory to two decimals; T. Padfield, "Properties of selected saturated
 * salt solutions" (read), one decimal; CRC Handbook, section 15, fit A exp(B/T), ±2 % (read).
 */
import { describe, expect, test } from 'vitest';
import {
  calibratedPct,
  calibrationSdPct,
  checkTolerance,
  type Salt,
  saltCalibration,
  saltHumidityPct,
} from '../../server/science/index.ts';

const GREENSPAN_MEMORY: readonly (readonly [Salt, number, number, number])[] = [
  ['LiCl', 20, 11.31, 0.31],
  ['MgCl2', 20, 33.07, 0.18],
  ['MgCl2', 25, 32.78, 0.16],
  ['K2CO3', 20, 43.16, 0.33],
  ['NaBr', 20, 59.14, 0.44],
  ['NaCl', 15, 75.61, 0.18],
  ['NaCl', 20, 75.47, 0.14],
  ['NaCl', 25, 75.29, 0.12],
  ['KCl', 25, 84.34, 0.26],
  ['K2SO4', 30, 97.0, 0.4],
];

/** 15, 20 and 25 °C; NaCl at 20 °C is left out: the page has 75.7 between 75.6 and 75.3, which looks like a slip. */
const PADFIELD: Readonly<Record<Salt, readonly [number, number | null, number]>> = {
  LiCl: [11.3, 11.3, 11.3],
  MgCl2: [33.3, 33.1, 32.8],
  K2CO3: [43.1, 43.2, 43.2],
  NaBr: [60.7, 59.1, 57.6],
  NaCl: [75.6, null, 75.3],
  KCl: [85.9, 85.1, 84.3],
  K2SO4: [97.9, 97.6, 97.3],
};

const CRC: readonly (readonly [Salt, number, number])[] = [
  ['LiCl', 14.53, -75],
  ['MgCl2', 29.26, 34],
  ['NaBr', 20.49, 308],
  ['NaCl', 69.2, 25],
  ['KCl', 49.38, 159],
  ['K2SO4', 86.75, 34],
];

describe('salt fixed points', () => {
  test.each(GREENSPAN_MEMORY)(
    'Greenspan (from memory): %s at %i °C is %f ± %f',
    (salt, t, humidityPct, uncertaintyPct) => {
      expect(saltHumidityPct(salt, t).humidityPct).toBeCloseTo(humidityPct, 10);
      expect(saltHumidityPct(salt, t).uncertaintyPct).toBeCloseTo(uncertaintyPct, 10);
    },
  );

  test('Padfield (read), to the one decimal he prints (0.051)', () => {
    for (const [salt, row] of Object.entries(PADFIELD) as [Salt, (typeof PADFIELD)[Salt]][]) {
      for (const [i, humidityPct] of row.entries()) {
        if (humidityPct === null) continue;
        expect(Math.abs(saltHumidityPct(salt, 15 + 5 * i).humidityPct - humidityPct)).toBeLessThanOrEqual(
          0.0501,
        );
      }
    }
  });

  test.each(CRC)('CRC Handbook fit (read), ±2 %%: %s', (salt, A, B) => {
    for (const t of [20, 25]) {
      const fit = A * Math.exp(B / (t + 273.15));
      expect(Math.abs(saltHumidityPct(salt, t).humidityPct / fit - 1)).toBeLessThanOrEqual(0.02);
    }
  });

  test('between the table steps it interpolates; beyond 15 to 30 °C it refuses', () => {
    expect(saltHumidityPct('NaCl', 22.5).humidityPct).toBeCloseTo((75.47 + 75.29) / 2, 10);
    expect(() => saltHumidityPct('NaCl', 14)).toThrow(RangeError);
    expect(() => saltHumidityPct('NaCl', 31)).toThrow(/temperatureC/);
  });
});

describe('calibration against salts', () => {
  // A sensor that shows 0.95 h + 3: true = (reading - 3)/0.95.
  const shows = (salt: Salt) => 0.95 * saltHumidityPct(salt, 20).humidityPct + 3;
  const jar = (salt: Salt, error = 0) => ({ salt, temperatureC: 20, readingPct: shows(salt) + error });

  test.each([
    ['two', [jar('MgCl2'), jar('NaCl')]],
    ['three', [jar('MgCl2'), jar('NaBr'), jar('NaCl')]],
  ])('%s jars give gain and offset back', (_, points) => {
    const calibration = saltCalibration(points);
    expect(calibration.gain).toBeCloseTo(1 / 0.95, 10);
    expect(calibration.offsetPct).toBeCloseTo(-3 / 0.95, 10);
    expect(calibratedPct(calibration, shows('NaBr'))).toBeCloseTo(saltHumidityPct('NaBr', 20).humidityPct, 8);
    expect(calibration.worstResidualPct).toBeLessThan(1e-9);
  });

  test('the uncertainty of two jars is what error propagation by hand gives', () => {
    // x1, x2 readings; line through (x1, y1), (x2, y2), sd s1, s2 (salt and reading): at x the weights are (x2-x)/(x2-x1), (x-x1)/(x2-x1).
    const calibration = saltCalibration([jar('MgCl2'), jar('NaCl')], 0.3);
    const [x1, x2] = [shows('MgCl2'), shows('NaCl')];
    const variance = (uncertainty: number) => (uncertainty / 2) ** 2 + 0.3 ** 2;
    for (const x of [20, 50, 90]) {
      const [a, b] = [(x2 - x) / (x2 - x1), (x - x1) / (x2 - x1)];
      const expected = Math.sqrt(a * a * variance(0.18) + b * b * variance(0.14));
      expect(calibrationSdPct(calibration, x)).toBeCloseTo(expected, 8);
    }
  });

  test('a third jar shows a bent sensor', () => {
    expect(saltCalibration([jar('MgCl2'), jar('NaBr', 2), jar('NaCl')]).worstResidualPct).toBeGreaterThan(1);
  });

  test('the tolerance check says within, outside, or that it cannot tell', () => {
    const calibration = saltCalibration([jar('MgCl2'), jar('NaCl')]);
    // Errors: 3 - 0.05 x 33.07 = +1.35 at the low jar, 3 - 0.05 x 75.47 = -0.77 at the high one.
    expect(checkTolerance(calibration, 3).verdict).toBe('within');
    expect(checkTolerance(calibration, 1.3).verdict).toBe('cannot tell');
    const outside = checkTolerance(calibration, 0.5);
    expect(outside.verdict).toBe('outside');
    expect(outside.worstErrorPct).toBeCloseTo(1.3465, 3);
    expect(outside.reason).toMatch(/33 %RH.*1\.3 %RH too high/);
  });

  test('refuses one jar, and jars too near each other', () => {
    expect(() => saltCalibration([jar('NaCl')])).toThrow(/two salt points/);
    expect(() => saltCalibration([jar('NaCl'), jar('KCl')])).toThrow(/15 %RH apart/);
  });
});
