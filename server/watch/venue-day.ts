/** A venue's days begin at its own midnight. */
import { DateTime } from 'luxon';

/** YYYY-MM-DD by the venue's clock. */
export const localDay = (timeMs: number, timeZone: string): string =>
  DateTime.fromMillis(timeMs, { zone: timeZone }).toISODate() ?? '';

export const dayStartMs = (day: string, timeZone: string): number =>
  DateTime.fromISO(day, { zone: timeZone }).toMillis();
