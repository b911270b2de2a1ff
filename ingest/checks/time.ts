/** A clock that was never set writes 1970; one set wrongly, tomorrow. Both would bend what is learned from the past. */
export const oldestMs = Date.UTC(2000, 0, 1);
/** Clocks differ a little, and messages travel. */
export const aheadMs = 5 * 60_000;
const calendarMs = 8.64e15;

const written = (timeMs: number): string =>
  Math.abs(timeMs) <= calendarMs ? new Date(timeMs).toISOString() : `${timeMs / 1000} s`;

export function checkTime(
  timeMs: number,
  nowMs: number,
): { reason: 'time-too-old' | 'time-ahead'; sentence: string } | null {
  if (!(timeMs >= oldestMs)) {
    return {
      reason: 'time-too-old',
      sentence: `its time ${written(timeMs)} is before 2000, as of a clock that was never set`,
    };
  }
  if (timeMs > nowMs + aheadMs) {
    return {
      reason: 'time-ahead',
      sentence: `its time ${written(timeMs)} is more than 5 minutes ahead of ${written(nowMs)}`,
    };
  }
  return null;
}
