/**
 * The calendar against RFC 5545, read by an independent parser (ical.js): lines, identity, stamps, zones across clock
 * changes on both halves of the earth.
 */
import ICAL from 'ical.js';
import { expect, test } from 'vitest';
import type { Call } from '../../server/contract/index.ts';
import { calendarOf } from '../../server/watch/calendar.ts';

const hourMs = 3_600_000;
const nowMs = Date.parse('2026-03-01T09:30:15Z');

const call = (id: string, timeZone: string, plannedMs: number, more: Partial<Call> = {}): Call => ({
  id,
  kind: 'tuning',
  instrumentId: null,
  place: 'Auditorium · Grand 274 cm',
  venueName: 'Quillmere Recital Hall',
  timeZone,
  urgency: 2,
  why: 'The low tenor is about 9 cents flat.',
  earliestMs: plannedMs,
  latestMs: null,
  minutes: 90,
  cautions: [],
  noticeIds: [],
  venueId: null,
  bring: ['tuning tools'],
  choice: { choice: 'accepted', plannedMs, personId: null, reason: '', chosenMs: nowMs - hourMs },
  ...more,
});
const written = (calls: Call[]): string => calendarOf({ name: 'Ilva', calls, events: [] }, nowMs);
const parsed = (text: string) => new ICAL.Component(ICAL.parse(text));

/** The hours about each change of the clock in 2026 (IANA time zone database, from memory). */
const changes = [
  ['Europe/Vienna', '2026-03-29T01:00:00Z', '+0100', '+0200'],
  ['Europe/Vienna', '2026-10-25T01:00:00Z', '+0200', '+0100'],
  ['America/New_York', '2026-03-08T07:00:00Z', '-0500', '-0400'],
  ['America/New_York', '2026-11-01T06:00:00Z', '-0400', '-0500'],
  ['Australia/Sydney', '2026-04-04T16:00:00Z', '+1100', '+1000'],
  // Half an hour only.
  ['Australia/Lord_Howe', '2026-10-03T15:30:00Z', '+1030', '+1100'],
] as const;

test.each(changes)('%s: visits about %s are at their moment, in local time with its zone', (zone, at) => {
  const changeMs = Date.parse(at);
  const hours = [-30, -2, -1, 0, 1, 2, 30].map((hour) => changeMs + hour * hourMs);
  const calls = hours.map((ms, i) => call(`00000000-0000-4000-8000-00000000000${i}`, zone, ms));
  const calendar = parsed(written(calls));
  const timezone = calendar.getFirstSubcomponent('vtimezone');
  expect(timezone?.getFirstPropertyValue('tzid')).toBe(zone);
  const own = new ICAL.Timezone({ component: timezone ?? '', tzid: zone });
  calendar.getAllSubcomponents('vevent').forEach((one, i) => {
    const start = one.getFirstProperty('dtstart');
    expect(start?.getParameter('tzid')).toBe(zone);
    const local = start?.getFirstValue() as ICAL.Time;
    // The wall clock, by the platform's own zone data.
    const clock = new Intl.DateTimeFormat('sv-SE', {
      timeZone: zone,
      dateStyle: 'short',
      timeStyle: 'medium',
    }).format(hours[i]);
    expect(local.toString()).toBe(clock.replace(' ', 'T'));
    // By the zone as the calendar itself tells it; the hour that comes twice has one name for two moments.
    local.zone = own;
    const twice = hours.some((other, j) => j !== i && sameClock(zone, other, hours[i] ?? 0));
    if (!twice) expect(local.toJSDate().getTime()).toBe(hours[i]);
    expect(one.getFirstPropertyValue('duration') ?? one.getFirstPropertyValue('dtend')).toBeTruthy();
  });
});

function sameClock(zone: string, a: number, b: number): boolean {
  const clock = new Intl.DateTimeFormat('sv-SE', { timeZone: zone, dateStyle: 'short', timeStyle: 'medium' });
  return clock.format(a) === clock.format(b);
}

test.each(changes)('%s: the change at %s is told from %s to %s', (zone, at, before, after) => {
  const text = written([call('00000000-0000-4000-8000-000000000001', zone, Date.parse(at))]);
  const parts = parsed(text).getFirstSubcomponent('vtimezone')?.getAllSubcomponents() ?? [];
  const told = parts.map((one) => ({
    kind: one.name,
    onset: one.getFirstPropertyValue('dtstart')?.toString(),
    from: String(one.getFirstProperty('tzoffsetfrom')?.toICALString()).split(':')[1],
    to: String(one.getFirstProperty('tzoffsetto')?.toICALString()).split(':')[1],
  }));
  const [sign, h, m] = [before[0] === '-' ? -1 : 1, Number(before.slice(1, 3)), Number(before.slice(3))];
  const onset = new Date(Date.parse(at) + sign * (h * 60 + m) * 60_000).toISOString().slice(0, 19);
  expect(told).toContainEqual({
    kind:
      Number(after.slice(1)) * (after[0] === '-' ? -1 : 1) > Number(before.slice(1)) * sign
        ? 'daylight'
        : 'standard',
    onset,
    from: before,
    to: after,
  });
});

test('lines end in CRLF, have at most 75 octets, split no character, and unfold to what was meant (3.1)', () => {
  const why = `${'Größe, Stimmstock; “ä\\ö” – 𝄞 '.repeat(12)}\nzweite Zeile`;
  const text = written([call('00000000-0000-4000-8000-000000000001', 'Europe/Vienna', nowMs, { why })]);
  const bytes = Buffer.from(text);
  expect(text.endsWith('\r\n')).toBe(true);
  expect(text.replaceAll('\r\n', '')).not.toMatch(/[\r\n]/);
  for (const line of text.split('\r\n')) {
    expect(Buffer.byteLength(line)).toBeLessThanOrEqual(75);
    expect(line).not.toContain('\ufffd');
  }
  // Nothing was lost between characters and octets.
  expect(new TextDecoder('utf-8', { fatal: true }).decode(bytes)).toBe(text);
  const [event] = parsed(text).getAllSubcomponents('vevent');
  expect(String(event?.getFirstPropertyValue('description'))).toContain(why);
});

test('identity and stamps: UID stays, DTSTAMP and LAST-MODIFIED in UTC, PRODID and VERSION once (3.6, 3.8)', () => {
  const id = '00000000-0000-4000-8000-000000000001';
  const [first, moved] = [0, 26].map((hours) =>
    parsed(written([call(id, 'Europe/Vienna', nowMs + hours * hourMs)])),
  );
  const eventOf = (calendar: ICAL.Component | undefined) => calendar?.getFirstSubcomponent('vevent');
  expect(eventOf(moved)?.getFirstPropertyValue('uid')).toBe(eventOf(first)?.getFirstPropertyValue('uid'));
  expect(String(eventOf(first)?.getFirstPropertyValue('uid'))).toMatch(/^call-.+@crownwatch$/);
  for (const name of ['dtstamp', 'last-modified']) {
    expect(String(eventOf(first)?.getFirstProperty(name)?.toICALString())).toMatch(/:\d{8}T\d{6}Z$/);
  }
  expect(first?.getFirstPropertyValue('version')).toBe('2.0');
  for (const once of ['prodid', 'version', 'method']) expect(first?.getAllProperties(once)).toHaveLength(1);
});
