/**
 * Where the board goes if the air stays as it was in the past week. Not a forecast of the weather: it says how far
 * the wood still is from what it has been given, which decides whether to tune now or to wait.
 */
import { type Air, advanceSlab, type Slab, slabMeanPct } from '../science/index.ts';

export const outlookDays = 21;

/** Mean over the last week of known hours; null where there is none. */
export function lastWeekMean(hours: readonly Air[]): Air | null {
  const known = hours.slice(-168).filter((air) => air.humidityPct !== null && air.temperatureC !== null);
  if (known.length === 0) return null;
  const mean = (of: (air: Air) => number | null) =>
    known.reduce((sum, air) => sum + (of(air) ?? 0), 0) / known.length;
  return { humidityPct: mean((air) => air.humidityPct), temperatureC: mean((air) => air.temperatureC) };
}

/** Mean moisture of the board now and at the end of each of the coming days: `outlookDays + 1` entries. */
export function boardOutlook(slab: Slab, top: Air, underside: Air): number[] {
  const means = [slabMeanPct(slab)];
  let state = slab;
  const day = (air: Air): Air[] => new Array<Air>(24).fill(air);
  for (let i = 0; i < outlookDays; i++) {
    state = advanceSlab(state, day(top), { underside: day(underside) });
    means.push(slabMeanPct(state));
  }
  return means;
}

/** A board that moves faster than this is better left to settle (%MC a day; proposal). */
export const settlingPctPerDay = 0.15;

/** Days until the board moves less than that; 0 where it already does, null where it will not within the outlook. */
export function daysToSettle(outlook: readonly number[]): number | null {
  for (let day = 1; day < outlook.length; day++) {
    if (Math.abs((outlook[day] ?? 0) - (outlook[day - 1] ?? 0)) <= settlingPctPerDay) return day - 1;
  }
  return null;
}
