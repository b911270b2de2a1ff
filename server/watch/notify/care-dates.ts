/** The dates a client may choose from, and whether one that comes back was among them. */
import { DateTime } from 'luxon';

const dayMs = 86_400_000;
/** A page may lie open, or a letter unread, for so long. */
const openDays = 14;

/** Three weekdays on which the technician could come: never before it is wise. */
export function offeredDates(notBeforeMs: number | null, timeZone: string, nowMs: number): number[] {
  let day = DateTime.fromMillis(Math.max(nowMs + 3 * dayMs, notBeforeMs ?? 0), { zone: timeZone }).set({
    hour: 10,
    minute: 0,
    second: 0,
    millisecond: 0,
  });
  const dates: number[] = [];
  while (dates.length < 3) {
    if (day.weekday <= 5) dates.push(day.toMillis());
    day = day.plus({ days: day.weekday === 5 ? 3 : 2 });
  }
  return dates;
}

/** Was this date offered today or lately, and does it still lie ahead? */
export function wasOffered(
  dateMs: number,
  notBeforeMs: number | null,
  timeZone: string,
  nowMs: number,
): boolean {
  if (!(dateMs > nowMs)) return false;
  for (let days = 0; days <= openDays; days += 1) {
    if (offeredDates(notBeforeMs, timeZone, nowMs - days * dayMs).includes(dateMs)) return true;
  }
  return false;
}
