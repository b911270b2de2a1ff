/**
 * How far the air of a room may be moved today: towards what is wished, at most 5 points a day, and in frost only as
 * far as the windows stay dry. Pure.
 */
import type { Outdoors, Room } from '../contract/index.ts';
import { litresPerDay, moistureLoadKgH, vapourPressurePa, windowsDryUpToPct } from '../science/index.ts';

/** Aim at least so far within the band, or the next small change is outside it again (proposal). */
const insidePct = 2;
const aDayPct = 5;
/** In frost 35 to 40 % is often all that windows bear, whatever their glass (common practice, no source). */
const frostMostPct = 40;

/** Of the coldest edge of the glass, between outdoor (0) and indoor (1) temperature; recalled. @source ISO-13788 */
const surfaceFactor = { single: 0.3, double: 0.5, triple: 0.65 } as const;

/** @returns humidity up to which the windows stay dry in the coming night, %; null where the weather is unknown. */
export function windowsLimitPct(
  room: Pick<Room, 'glazing'>,
  indoorC: number,
  outdoors: Outdoors | null,
): number | null {
  if (!outdoors) return null;
  const dry = windowsDryUpToPct(indoorC, outdoors.lowC, surfaceFactor[room.glazing ?? 'double']);
  if (dry === null) return null;
  return Math.floor(outdoors.lowC < 0 ? Math.min(frostMostPct, dry) : dry);
}

export interface Step {
  readonly todayPct: number;
  /** null: today's step reaches the goal. */
  readonly tomorrowPct: number | null;
  readonly goalPct: number;
  /** What kept the goal from being higher: the windows. */
  readonly windowsPct: number | null;
}

/**
 * @param fromPct what the wood had until today: the mean of the day before, or of the last 24 hours where that is drier
 * @returns null where the windows bear no more than there is
 */
export function stepUp(fromPct: number, goalPct: number, windowsPct: number | null): Step | null {
  const held = windowsPct !== null && windowsPct < goalPct;
  const goal = Math.floor(held ? windowsPct : goalPct);
  const base = Math.floor(fromPct);
  if (goal <= base) return null;
  const todayPct = Math.min(base + aDayPct, goal);
  const tomorrow = Math.min(todayPct + aDayPct, goal);
  return {
    todayPct,
    tomorrowPct: tomorrow > todayPct ? tomorrow : null,
    goalPct: goal,
    windowsPct: held ? windowsPct : null,
  };
}

/** @param fromPct as for {@link stepUp}, from the damp side */
export function stepDown(fromPct: number, goalPct: number): Step | null {
  const goal = Math.ceil(goalPct);
  const base = Math.ceil(fromPct);
  if (goal >= base) return null;
  const todayPct = Math.max(base - aDayPct, goal);
  const tomorrow = Math.max(todayPct - aDayPct, goal);
  return { todayPct, tomorrowPct: tomorrow < todayPct ? tomorrow : null, goalPct: goal, windowsPct: null };
}

/** A little within the band on its dry side, never past its middle; and the same from the damp side. */
export const dryGoalPct = (lowPct: number, highPct: number): number =>
  Math.min(lowPct + insidePct, (lowPct + highPct) / 2);
export const dampGoalPct = (lowPct: number, highPct: number): number =>
  Math.max(highPct - insidePct, (lowPct + highPct) / 2);

/** Litres a day to hold a humidity in this weather; null where volume, air changes or weather are unknown. */
export function waterLitres(
  room: Pick<Room, 'volumeM3' | 'airChangesPerHour'>,
  outdoors: Pick<Outdoors, 'temperatureC' | 'humidityPct'> | null,
  temperatureC: number,
  humidityPct: number,
): number | null {
  const { volumeM3, airChangesPerHour } = room;
  if (volumeM3 === null || airChangesPerHour === null || !outdoors) return null;
  // The balance holds from 5 m³ and up to 30 changes an hour; beyond, nothing is said.
  if (volumeM3 < 5 || airChangesPerHour > 30) return null;
  const load = moistureLoadKgH({ volumeM3, airChangesPerH: airChangesPerHour }, outdoors, {
    temperatureC,
    humidityPct,
  });
  return litresPerDay(load);
}

/** Does airing dry the room? Vapour pressures decide, not relative humidity. */
export const airingDries = (outdoors: Outdoors, temperatureC: number, humidityPct: number): boolean =>
  vapourPressurePa(outdoors.temperatureC, outdoors.humidityPct) <
  0.9 * vapourPressurePa(temperatureC, humidityPct);
