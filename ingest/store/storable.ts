/** What every engine can keep; the checks before the store let nothing else through. */
import type { Reading } from '../reading.ts';

/** The year 2200: engines that count nanoseconds in 64 bits end in 2262. */
export const endOfTimeMs = Date.UTC(2200, 0, 1);

/** @throws RangeError for a time or value no sensor can mean */
export function assertStorable({ sensor, timeMs, humidityPct, temperatureC, batteryPct }: Reading): void {
  if (!Number.isInteger(timeMs) || timeMs < 0 || timeMs >= endOfTimeMs) {
    throw new RangeError(
      `timeMs ${timeMs} of ${sensor} is not a whole number of milliseconds from 1970 to 2200`,
    );
  }
  for (const value of [humidityPct, temperatureC, batteryPct]) {
    if (value !== undefined && !(Math.abs(value) <= 1e6)) {
      throw new RangeError(`${value} of ${sensor} is not a value that can be kept`);
    }
  }
}

/** What of a range an engine can look at: whole milliseconds from 1970 on; null where nothing is between. */
export function within(fromMs: number, toMs: number): { from: number; to: number } | null {
  const from = Math.max(0, Math.ceil(fromMs));
  const to = Math.min(endOfTimeMs, Math.ceil(toMs));
  return from < to ? { from, to } : null;
}
