/**
 * Sweat: water on the plate, strings and pins of a piano colder than the air's dew point. The plate follows the air
 * by a first-order lag of hours; a piano carried in from the cold starts far below it.
 */
import { dewPointC } from './air.ts';
import { within } from './range.ts';
import type { Air } from './slab.ts';

/** Common practice: the plate takes hours, the whole piano has come to the room within a day. */
export const PLATE_HOURS = 6;

/**
 * Plate temperature after an hour in air, °C.
 * @param plateC null where nothing is known yet: the plate is then taken to be as warm as the air
 */
export function advancePlate(
  plateC: number | null,
  airC: number | null,
  plateTimeConstantH = PLATE_HOURS,
): number | null {
  within('plateTimeConstantH', plateTimeConstantH, 0.1, 240);
  if (airC === null) return plateC;
  within('temperatureC', airC, -60, 85);
  return plateC === null ? airC : airC + (plateC - airC) * Math.exp(-1 / plateTimeConstantH);
}

/**
 * Plate temperature less dew point in each hour, K: at 0 or below water forms. Null where the hour's air is missing.
 * @param startC of the plate before the first hour, for a piano brought in
 */
export function sweatMarginK(
  airSeries: readonly Air[],
  plateTimeConstantH: number = PLATE_HOURS,
  startC: number | null = null,
): (number | null)[] {
  let plateC = startC;
  return airSeries.map(({ temperatureC, humidityPct }) => {
    plateC = advancePlate(plateC, temperatureC, plateTimeConstantH);
    const dewC = dewPointC(temperatureC, humidityPct);
    return plateC === null || dewC === null ? null : plateC - dewC;
  });
}
