/**
 * Humid air against a general-purpose library.
 * Source: PsychroLib 1.1.1 (its JavaScript form), SI units; it rests on ASHRAE Fundamentals 2017 too, but is other code.
 *
 * 2,000 points: 50 temperatures from -60 to 60 °C by 40 humidities from 2 to 100 %, both sides of 0 °C.
 * Tolerances: dew point 1e-3 K, the step at which PsychroLib stops; humidity ratio 1e-6 kg/kg.
 */
import { createRequire } from 'node:module';
import { describe, expect, test } from 'vitest';
import {
  dewPointC,
  frostPointC,
  humidityAtTemperaturePct,
  humidityRatioKgKg,
  saturationPressurePa,
} from '../../server/science/index.ts';

interface PsychroLib {
  SI: unknown;
  SetUnitSystem(system: unknown): void;
  GetSatVapPres(temperatureC: number): number;
  GetTDewPointFromRelHum(temperatureC: number, humidity0to1: number): number;
  GetHumRatioFromRelHum(temperatureC: number, humidity0to1: number, pressurePa: number): number;
}

const reference: PsychroLib = createRequire(import.meta.url)('psychrolib');
reference.SetUnitSystem(reference.SI);

const TEMPERATURES = Array.from({ length: 50 }, (_, i) => -60 + (120 * i) / 49);
const HUMIDITIES = Array.from({ length: 40 }, (_, i) => 2 + (98 * i) / 39);
const GRID = TEMPERATURES.flatMap((temperatureC) =>
  HUMIDITIES.map((humidityPct) => ({ temperatureC, humidityPct })),
);

function worst(difference: (point: { temperatureC: number; humidityPct: number }) => number): number {
  return Math.max(...GRID.map((point) => Math.abs(difference(point))));
}

describe('PsychroLib 1.1.1 over 2,000 points', () => {
  test('the grid has 2,000 points', () => {
    expect(GRID).toHaveLength(2000);
  });

  test('saturation pressure, 1e-9 relative: the same formula', () => {
    for (const t of TEMPERATURES) {
      expect(Math.abs(saturationPressurePa(t) / reference.GetSatVapPres(t) - 1)).toBeLessThan(1e-9);
    }
  });

  test('dew point, 1e-3 K', () => {
    expect(
      worst(
        ({ temperatureC, humidityPct }) =>
          (dewPointC(temperatureC, humidityPct) ?? Number.NaN) -
          reference.GetTDewPointFromRelHum(temperatureC, humidityPct / 100),
      ),
    ).toBeLessThanOrEqual(1e-3);
  });

  test('dew point is an exact inverse, 1e-9 K, and is the frost point below 0 °C', () => {
    for (const { temperatureC, humidityPct } of GRID) {
      const dew = dewPointC(temperatureC, humidityPct) ?? Number.NaN;
      expect(humidityAtTemperaturePct(temperatureC, humidityPct, dew)).toBeCloseTo(100, 7);
      expect(frostPointC(temperatureC, humidityPct)).toBe(dew > 0 ? null : dew);
    }
  });

  test.each([101_325, 89_875])('humidity ratio at %i Pa, 1e-6 kg/kg', (pressurePa) => {
    expect(
      worst(
        ({ temperatureC, humidityPct }) =>
          (humidityRatioKgKg(temperatureC, humidityPct, pressurePa) ?? Number.NaN) -
          reference.GetHumRatioFromRelHum(temperatureC, humidityPct / 100, pressurePa),
      ),
    ).toBeLessThanOrEqual(1e-6);
  });
});
