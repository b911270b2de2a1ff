/**
 * Humid air: saturation, dew and frost point, absolute humidity, humidity ratio.
 *
 * Humidity is relative to saturation over water at or above 0 °C and over ice below it, as PsychroLib has it. (Many
 * sensors report over water below 0 °C too; outdoor readings of the far cold are then a few points low.)
 * Ideal gas throughout: against the real-gas tables of the handbook humidity ratios agree to 0.5-1 %.
 *
 * Every function gives null where an input is null and throws RangeError outside -100..100 °C or 0..100 %.
 */
import { within } from './range.ts';

const KELVIN = 273.15;
/** Ratio of the molar masses of water and dry air. @source ASHRAE-Fundamentals-2017-1 */
const MASS_RATIO = 0.621945;
/** Specific gas constant of water vapour, J/(kg K): 8.314463 J/(mol K) over 18.015268 g/mol. */
const WATER_GAS_CONSTANT = 461.523;
const LEAST_C = -100;
const MOST_C = 100;

/** ln of the saturation pressure in Pa over ice at T kelvin. @source Hyland-Wexler-1983 */
function lnOverIce(T: number): number {
  return (
    -5.6745359e3 / T +
    6.3925247 +
    T * (-9.677843e-3 + T * (6.2215701e-7 + T * (2.0747825e-9 - T * 9.484024e-13))) +
    4.1635019 * Math.log(T)
  );
}

/** ln of the saturation pressure in Pa over water at T kelvin. @source Hyland-Wexler-1983 */
function lnOverWater(T: number): number {
  return (
    -5.8002206e3 / T +
    1.3914993 +
    T * (-4.8640239e-2 + T * (4.1764768e-5 - T * 1.4452093e-8)) +
    6.5459673 * Math.log(T)
  );
}

/** d(ln p)/dT of the two branches, 1/K. */
function slopeOverIce(T: number): number {
  return (
    5.6745359e3 / (T * T) -
    9.677843e-3 +
    T * (2 * 6.2215701e-7 + T * (3 * 2.0747825e-9 - T * 4 * 9.484024e-13)) +
    4.1635019 / T
  );
}

function slopeOverWater(T: number): number {
  return 5.8002206e3 / (T * T) - 4.8640239e-2 + T * (2 * 4.1764768e-5 - T * 3 * 1.4452093e-8) + 6.5459673 / T;
}

/**
 * Saturation vapour pressure: over ice below 0 °C, over water from 0 °C up.
 * @param temperatureC air temperature, °C, -100 to 100
 * @returns Pa
 * @source Hyland-Wexler-1983
 * @source ASHRAE-Fundamentals-2017-1
 */
export function saturationPressurePa(temperatureC: number): number;
export function saturationPressurePa(temperatureC: number | null): number | null;
export function saturationPressurePa(temperatureC: number | null): number | null {
  if (temperatureC === null) return null;
  const T = within('temperatureC', temperatureC, LEAST_C, MOST_C) + KELVIN;
  return Math.exp(temperatureC < 0 ? lnOverIce(T) : lnOverWater(T));
}

/** Partial pressure of the vapour in the air, Pa. */
export function vapourPressurePa(temperatureC: number, humidityPct: number): number;
export function vapourPressurePa(temperatureC: number | null, humidityPct: number | null): number | null;
export function vapourPressurePa(temperatureC: number | null, humidityPct: number | null): number | null {
  if (temperatureC === null || humidityPct === null) return null;
  return (saturationPressurePa(temperatureC) * within('humidityPct', humidityPct, 0, 100)) / 100;
}

/**
 * Temperature at which a vapour pressure saturates, by Newton on ln p, each branch on its own side of 0 °C: the two
 * meet there with different slopes, and an iteration across the joint may never settle.
 */
function invert(pressurePa: number, overIce: boolean): number {
  const wanted = Math.log(pressurePa);
  const ln = overIce ? lnOverIce : lnOverWater;
  const slope = overIce ? slopeOverIce : slopeOverWater;
  // Start: the Magnus form of the WMO guide, some hundredths of a kelvin off.
  const [b, c] = overIce ? [22.46, 272.62] : [17.62, 243.12];
  const x = Math.log(pressurePa / 611.2);
  let T = (c * x) / (b - x) + KELVIN;
  for (let step = 0; step < 20; step += 1) {
    const change = (wanted - ln(T)) / slope(T);
    T += change;
    if (Math.abs(change) < 1e-11) break;
  }
  return T - KELVIN;
}

const FREEZING_PA = Math.exp(lnOverWater(KELVIN));
const FREEZING_ICE_PA = Math.exp(lnOverIce(KELVIN));

/**
 * Temperature to which the air must cool for its vapour to condense (dew) or, below 0 °C, to form frost.
 * Exact inversion of `saturationPressurePa`, to 1e-9 K.
 * @returns °C, never above the air's temperature; null at 0 % humidity, where there is nothing to condense
 * @source ASHRAE-Fundamentals-2017-1
 */
export function dewPointC(temperatureC: number | null, humidityPct: number | null): number | null {
  const pressurePa = vapourPressurePa(temperatureC, humidityPct);
  if (pressurePa === null || temperatureC === null || pressurePa === 0) return null;
  if (pressurePa >= FREEZING_PA) return Math.min(invert(pressurePa, false), temperatureC);
  // The two branches miss each other by 0.06 Pa at 0 °C: what lies between them saturates at 0 °C itself.
  if (pressurePa >= FREEZING_ICE_PA) return Math.min(0, temperatureC);
  return Math.min(invert(pressurePa, true), temperatureC);
}

/**
 * Frost point: where the vapour deposits as ice. Equal to the dew point below 0 °C; null where the vapour condenses
 * as water first, that is where the dew point lies above 0 °C.
 */
export function frostPointC(temperatureC: number | null, humidityPct: number | null): number | null {
  const dew = dewPointC(temperatureC, humidityPct);
  return dew === null || dew > 0 ? null : dew;
}

/** Mass of vapour in a cubic metre of the moist air, g/m³. @source ASHRAE-Fundamentals-2017-1 */
export function absoluteHumidityGm3(temperatureC: number, humidityPct: number): number;
export function absoluteHumidityGm3(temperatureC: number | null, humidityPct: number | null): number | null;
export function absoluteHumidityGm3(temperatureC: number | null, humidityPct: number | null): number | null {
  if (temperatureC === null || humidityPct === null) return null;
  return (
    (1000 * vapourPressurePa(temperatureC, humidityPct)) / (WATER_GAS_CONSTANT * (temperatureC + KELVIN))
  );
}

/** Humidity (%) of air of this temperature that holds so much vapour; above 100 it cannot, and the rest condenses. */
export function humidityFromAbsolutePct(temperatureC: number, absoluteGm3: number): number {
  within('absoluteGm3', absoluteGm3, 0, 1000);
  const pressurePa = (absoluteGm3 / 1000) * WATER_GAS_CONSTANT * (temperatureC + KELVIN);
  return (100 * pressurePa) / saturationPressurePa(temperatureC);
}

/**
 * Mass of vapour to a mass of dry air, kg/kg.
 * @param pressurePa total pressure; at the site's altitude from `pressureAtAltitudePa`
 * @throws RangeError where the vapour alone would exceed the total pressure (boiling)
 * @source ASHRAE-Fundamentals-2017-1
 */
export function humidityRatioKgKg(
  temperatureC: number | null,
  humidityPct: number | null,
  pressurePa = 101_325,
): number | null {
  const vapourPa = vapourPressurePa(temperatureC, humidityPct);
  if (vapourPa === null) return null;
  within('pressurePa', pressurePa, 20_000, 120_000);
  within('vapour pressure in Pa', vapourPa, 0, pressurePa * 0.99);
  return (MASS_RATIO * vapourPa) / (pressurePa - vapourPa);
}

/**
 * Humidity the same air shows once warmed or cooled, its vapour pressure unchanged (a ventilated room, not a sealed
 * jar). Over 100 the air has passed its dew point: the excess condenses.
 * @returns %, not limited to 100
 */
export function humidityAtTemperaturePct(
  temperatureC: number | null,
  humidityPct: number | null,
  newTemperatureC: number | null,
): number | null {
  const vapourPa = vapourPressurePa(temperatureC, humidityPct);
  if (vapourPa === null || newTemperatureC === null) return null;
  return (100 * vapourPa) / saturationPressurePa(newTemperatureC);
}

/** Pressure of the standard atmosphere, Pa, -500 to 11 000 m. @source ASHRAE-Fundamentals-2017-1 */
export function pressureAtAltitudePa(altitudeM: number): number {
  within('altitudeM', altitudeM, -500, 11_000);
  return 101_325 * (1 - 2.25577e-5 * altitudeM) ** 5.2559;
}
