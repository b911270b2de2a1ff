/** The beat of the simulation and the hours people keep. */

/** Readings come every ten minutes; everything that moves is advanced by one such step. */
export const stepMs = 600_000;
export const stepHours = stepMs / 3_600_000;
export const dayMs = 86_400_000;

/** Rooms, walls and wood run free this long before the first reading, so that none starts from a guess. */
export const settlingDays = 75;

/**
 * The scenario lives by one zone time, UTC+1 the year round: nobody's habits in it are kept to the hour. Weekday
 * 0 is Monday, hour 0 to 24, season 0 to 1 from 1 January.
 */
export function localTime(timeMs: number): { weekday: number; hour: number; season: number; day: number } {
  const localMs = timeMs + 3_600_000;
  const day = Math.floor(localMs / dayMs);
  return {
    day,
    weekday: (day + 3) % 7,
    hour: (localMs - day * dayMs) / 3_600_000,
    season: (day % 365.2425) / 365.2425,
  };
}

/** The same date some months earlier, held to the last day of a shorter month, on a whole step. */
export function monthsBefore(timeMs: number, months: number): number {
  const date = new Date(timeMs);
  const dayOfMonth = date.getUTCDate();
  date.setUTCDate(1);
  date.setUTCMonth(date.getUTCMonth() - months);
  const lastDay = new Date(Date.UTC(date.getUTCFullYear(), date.getUTCMonth() + 1, 0)).getUTCDate();
  date.setUTCDate(Math.min(dayOfMonth, lastDay));
  return Math.floor(date.getTime() / stepMs) * stepMs;
}
