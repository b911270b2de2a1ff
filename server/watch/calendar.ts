/**
 * The calendar of one person: calls planned for them and the events of their venues, as iCalendar. Each entry keeps its
 * UID, so that a calendar that asks again updates in place; local times name their zone, whose changes are told along.
 */
import ical, { ICalCalendarMethod } from 'ical-generator';
import { DateTime } from 'luxon';
import type { Call, Event } from '../contract/index.ts';

const dayMs = 86_400_000;

export interface CalendarNeeds {
  readonly name: string;
  readonly calls: readonly Call[];
  readonly events: readonly (Event & { readonly venueName: string; readonly timeZone: string })[];
}

export function calendarOf({ name, calls, events }: CalendarNeeds, nowMs: number): string {
  const calendar = ical({
    name,
    method: ICalCalendarMethod.PUBLISH,
    prodId: { company: 'crownwatch', product: 'calendar', language: 'EN' },
    ttl: 3600,
    // No zone of the whole calendar: with one, DTSTAMP would be told in local time, and RFC 5545 asks for UTC.
    timezone: { name: null, generator: (zone) => zoneOf(zone, nowMs) },
  });
  const local = (ms: number, zone: string) => DateTime.fromMillis(ms, { zone });
  for (const call of calls) {
    if (call.choice?.choice !== 'accepted' || call.choice.plannedMs === null) continue;
    const { plannedMs, chosenMs } = call.choice;
    calendar.createEvent({
      id: `call-${call.id}@crownwatch`,
      start: local(plannedMs, call.timeZone),
      end: local(plannedMs + call.minutes * 60_000, call.timeZone),
      timezone: call.timeZone,
      stamp: DateTime.fromMillis(nowMs, { zone: 'utc' }),
      lastModified: DateTime.fromMillis(chosenMs, { zone: 'utc' }),
      summary: `${call.kind.charAt(0).toUpperCase()}${call.kind.slice(1)}: ${call.place}`,
      description: [call.why, ...call.cautions, `Bring: ${call.bring.join(', ')}`].join('\n\n'),
      location: call.venueName,
    });
  }
  for (const event of events) {
    calendar.createEvent({
      id: `event-${event.id}@crownwatch`,
      start: local(event.startMs, event.timeZone),
      end: local(event.startMs + 2 * 3_600_000, event.timeZone),
      timezone: event.timeZone,
      stamp: DateTime.fromMillis(nowMs, { zone: 'utc' }),
      summary: event.name,
      description: 'An event that needs a piano; its tuning is planned apart.',
      location: event.venueName,
    });
  }
  // RFC 5545 3.1: the last line ends as every line does.
  return `${calendar.toString().trimEnd()}\r\n`;
}

/** VTIMEZONE with every change of the zone in the year around now, each told by itself: right whatever the rule is. */
export function zoneOf(zone: string, nowMs: number): string {
  const from = Math.floor((nowMs - 400 * dayMs) / dayMs) * dayMs;
  const offsetAt = (ms: number) => DateTime.fromMillis(ms, { zone }).offset;
  const changes: { atMs: number; before: number; after: number }[] = [];
  for (let day = from; day < nowMs + 760 * dayMs; day += dayMs) {
    const [before, after] = [offsetAt(day), offsetAt(day + dayMs)];
    if (before === after) continue;
    let [low, high] = [day, day + dayMs];
    while (high - low > 60_000) {
      const middle = Math.floor((low + high) / 2 / 60_000) * 60_000;
      if (offsetAt(middle) === before) low = middle;
      else high = middle;
    }
    changes.push({ atMs: high, before, after });
  }
  const first = { atMs: from, before: offsetAt(from), after: offsetAt(from) };
  const parts = [first, ...changes].flatMap(({ atMs, before, after }) => {
    const kind = DateTime.fromMillis(atMs, { zone }).isInDST ? 'DAYLIGHT' : 'STANDARD';
    // The onset is told in the local time that held before it.
    const onset = DateTime.fromMillis(atMs + before * 60_000, { zone: 'utc' }).toFormat("yyyyMMdd'T'HHmmss");
    return [
      `BEGIN:${kind}`,
      `DTSTART:${onset}`,
      `TZOFFSETFROM:${offset(before)}`,
      `TZOFFSETTO:${offset(after)}`,
      `END:${kind}`,
    ];
  });
  return ['BEGIN:VTIMEZONE', `TZID:${zone}`, ...parts, 'END:VTIMEZONE'].join('\r\n');
}

function offset(minutes: number): string {
  const size = Math.abs(minutes);
  const two = (value: number) => String(value).padStart(2, '0');
  return `${minutes < 0 ? '-' : '+'}${two(Math.floor(size / 60))}${two(size % 60)}`;
}
