/**
 * Rooms and the weather.
 * Sources: ISO 13788 (moisture balance G = n V (vi - ve), internal surface factor; from memory). Outdoor air heated at constant
 * vapour pressure: computed with Hyland-Wexler over ice below 0 °C, to 0.01 %RH.
 */
import { describe, expect, test } from 'vitest';
import {
  absoluteHumidityGm3,
  dehumidifierDuty,
  indoorForecastPct,
  indoorHumidityPct,
  litresPerDay,
  moistureLoadKgH,
  PERSON_KG_H,
  saturationPressurePa,
  waterOver,
  windowsDryUpToPct,
} from '../../server/science/index.ts';

const room = { volumeM3: 200, airChangesPerH: 0.5 };
const air = (temperatureC: number, humidityPct: number) => ({ temperatureC, humidityPct });

describe('outdoor air brought in and warmed', () => {
  test.each([
    [-10, 80, 8.89, 8.36, 20.43],
    [-5, 85, 14.6, 13.73, 26.15],
    [0, 80, 20.91, 19.66, 32.45],
    [5, 80, 29.84, 28.06, 41.39],
    [10, 75, 39.38, 37.02, 50.92],
  ])('%i °C and %i %%: %f %% at 20 °C, %f %% at 21 °C, %f %% with 270 Pa more', (t, rh, at20, at21, more) => {
    expect(indoorHumidityPct(room, air(t, rh), 20)).toBeCloseTo(at20, 1);
    expect(Math.abs((indoorHumidityPct(room, air(t, rh), 20) ?? Number.NaN) - at20)).toBeLessThanOrEqual(
      0.0051,
    );
    expect(Math.abs((indoorHumidityPct(room, air(t, rh), 21) ?? Number.NaN) - at21)).toBeLessThanOrEqual(
      0.0051,
    );
    // People who raise the vapour pressure by 270 Pa: G = n V (270 Pa) / (Rv T).
    const people = (0.5 * 200 * 270) / (461.523 * 293.15) / PERSON_KG_H;
    expect(
      Math.abs((indoorHumidityPct({ ...room, people }, air(t, rh), 20) ?? Number.NaN) - more),
    ).toBeLessThanOrEqual(0.01);
  });

  // Common practice, computed there with other rounding: -20 °C and 75 % give 4 % at 21 °C; 0 and 85 give 21.
  test.each([
    [-20, 75, 4],
    [-10, 80, 9],
    [0, 85, 21],
    [5, 80, 28],
  ])('%i °C and %i %% give about %i %% at 21 °C', (t, rh, pct) => {
    expect(Math.abs((indoorHumidityPct(room, air(t, rh), 21) ?? Number.NaN) - pct)).toBeLessThan(1);
  });
});

describe('water', () => {
  test('a room of 200 m³ at half a change an hour, by hand: 0 °C and 80 % outside, 20 °C and 42 % wanted', () => {
    // Vapour inside 0.42 x 17.287 g/m³ (table, saturated at 20 °C); outside 20.91 % of the same: 100 m³/h of the difference.
    const byHand = (100 * (0.42 - 0.2091) * 17.287) / 1000;
    const load = moistureLoadKgH(room, air(0, 80), air(20, 42));
    expect(load).toBeCloseTo(byHand, 3);
    expect(litresPerDay(load)).toBeCloseTo(24 * byHand, 2);
  });

  test('people give part of it; a load met exactly is the steady state', () => {
    const busy = { ...room, people: 4 };
    expect(moistureLoadKgH(busy, air(0, 80), air(20, 42))).toBeCloseTo(
      (moistureLoadKgH(room, air(0, 80), air(20, 42)) ?? Number.NaN) - 4 * PERSON_KG_H,
      12,
    );
    const steadyPct = indoorHumidityPct(busy, air(0, 80), 20) ?? Number.NaN;
    expect(moistureLoadKgH(busy, air(0, 80), air(20, steadyPct))).toBeCloseTo(0, 12);
  });

  test('over a spell: dry hours add, damp hours take, hours within the band do neither', () => {
    const spell = waterOver(
      room,
      [air(0, 80), air(25, 80), air(12, 75), { temperatureC: null, humidityPct: 50 }],
      {
        temperatureC: 21,
        lowPct: 40,
        highPct: 55,
      },
    );
    expect(spell.addLitres).toBeCloseTo(moistureLoadKgH(room, air(0, 80), air(21, 40)) ?? Number.NaN, 12);
    expect(spell.takeLitres).toBeCloseTo(
      -(moistureLoadKgH(room, air(25, 80), air(21, 55)) ?? Number.NaN),
      12,
    );
    expect(spell.missingHours).toBe(1);
  });

  test('a dehumidifier of 12 litres a day against 0.25 kg/h runs half the time', () => {
    expect(dehumidifierDuty(-0.25, 12)).toBeCloseTo(0.5, 12);
    expect(dehumidifierDuty(0.4, 12)).toBe(0);
    expect(dehumidifierDuty(null, 12)).toBeNull();
  });
});

describe('a forecast of the weather', () => {
  test('the room follows with a lag of 1/changes hours: 63.2 % of the way after two hours at half a change', () => {
    const from = indoorHumidityPct(room, air(10, 75), 20) ?? Number.NaN;
    const to = indoorHumidityPct(room, air(0, 80), 20) ?? Number.NaN;
    const course = indoorForecastPct(room, new Array(48).fill(air(0, 80)), 20, from);
    expect(((course[1] ?? Number.NaN) - from) / (to - from)).toBeCloseTo(1 - Math.exp(-1), 10);
    expect(course[47]).toBeCloseTo(to, 6);
  });
  test('an hour without weather is a gap and holds the room', () => {
    const course = indoorForecastPct(
      room,
      [air(0, 80), { temperatureC: null, humidityPct: null }, air(0, 80)],
      20,
    );
    expect(course[1]).toBeNull();
    expect(course[2]).toBeCloseTo(course[0] ?? Number.NaN, 12);
  });
});

describe('windows', () => {
  test('the glass at the dew point of the room is the limit, by hand at factor 0.5 and -10 °C: 5 °C', () => {
    expect(windowsDryUpToPct(20, -10)).toBeCloseTo(
      (100 * saturationPressurePa(5)) / saturationPressurePa(20),
      10,
    );
    expect(absoluteHumidityGm3(20, 100)).toBeCloseTo(17.287, 3);
  });
  test('in frost often 35 to 40 % (common practice, no source): -10 °C outside', () => {
    expect(windowsDryUpToPct(20, -10)).toBeGreaterThan(35);
    expect(windowsDryUpToPct(20, -10)).toBeLessThan(40);
  });
  test('warm outside: no limit', () => expect(windowsDryUpToPct(20, 25)).toBe(100));
});
