/**
 * How likely the pianos of an event are to hold: tuned in time, and as things stand. Read from what the daily look and
 * the stored forecasts say; nothing is worked out anew here.
 */
import * as z from 'zod/mini';
import type { Event, EventAhead } from '../contract/index.ts';
import { forecast as forecastSchema } from '../contract/index.ts';
import type { Database } from '../db/database.ts';
import { eventsOf } from '../registry/events.ts';
import { instruments, type PlacedInstrument } from '../registry/instruments.ts';
import { venues } from '../registry/venues.ts';
import { seenBy, type Viewer } from '../registry/viewer.ts';
import { loadOutlooks } from './outlook-store.ts';
import { registryFacts } from './registry-facts.ts';
import { dayName, inTen } from './wording.ts';

const dayMs = 86_400_000;

/** Chances of an event's piano to be fit when it begins, 0-1; null: it cannot be told. */
interface Odds {
  readonly tuned: number | null;
  readonly untuned: number | null;
}

export async function eventsAhead(db: Database, viewer: Viewer, nowMs: number): Promise<EventAhead[]> {
  const events = await eventsOf(db, viewer, { fromMs: nowMs });
  const ids = [...new Set(events.flatMap((one) => one.instrumentIds))];
  if (ids.length === 0) return [];
  const [pianos, places, facts, outlooks, beyond] = [
    new Map((await instruments(db, viewer)).map((one) => [one.id, one])),
    new Map((await venues(db, viewer)).map((one) => [one.id, one])),
    await registryFacts(db, viewer),
    await loadOutlooks(db, ids),
    await storedForecasts(db, viewer, ids),
  ];
  return events.map((event): EventAhead => {
    const venue = places.get(event.venueId);
    const timeZone = venue?.timeZone ?? 'UTC';
    const days = facts.settingsOf(event.venueId)['event tuning days'];
    const tuneMs = Math.max(nowMs, event.startMs - days * dayMs);
    const known = event.instrumentIds.flatMap((id) => pianos.get(id) ?? []);
    const day = dayName(tuneMs, timeZone, nowMs);
    const said = known.map((piano) => {
      const look = outlooks.get(piano.id)?.events.find((one) => one.id === event.id);
      const odds: Odds = {
        tuned: look?.unsteady == null ? null : 1 - look.unsteady,
        untuned: asksNoMore(event, piano) ? standsAt(beyond.get(piano.id), event.startMs) : null,
      };
      return {
        id: piano.id,
        name: piano.name,
        roomName: piano.roomName,
        ...odds,
        sentence: oddsSentence(odds, day),
      };
    });
    const whole = {
      tuned: least(said.map((one) => one.tuned)),
      untuned: least(said.map((one) => one.untuned)),
    };
    return {
      ...event,
      venueName: venue?.name ?? '',
      timeZone,
      tuneMs,
      ...whole,
      sentence: oddsSentence(whole, day),
      pianos: said,
    };
  });
}

/** The event is as fit as its least likely piano; what is not known of one is not known of all. */
const least = (chances: readonly (number | null)[]): number | null =>
  chances.reduce<number | null>(
    (lowest, one) => (lowest === null || one === null ? null : Math.min(lowest, one)),
    1,
  );

/** Forecasts know the tolerance of the piano's own use; an event that asks for another is not judged by it. */
const asksNoMore = (event: Event, piano: PlacedInstrument): boolean =>
  !event.required || event.required === piano.use;

/** All that is read of a forecast here: the chance of being out of tolerance, day by day. */
const beyondSchema = z.pick(forecastSchema, { timesMs: true, beyond: true });
type Beyond = z.infer<typeof beyondSchema>;

async function storedForecasts(
  db: Database,
  viewer: Viewer,
  ids: readonly string[],
): Promise<Map<string, Beyond>> {
  const rows = await db
    .selectFrom('forecast')
    .$call(seenBy(viewer, 'forecast'))
    .select(['instrument_id', 'body'])
    .where('instrument_id', 'in', ids)
    .execute();
  return new Map(
    rows.flatMap((row) => {
      const kept = beyondSchema.safeParse(JSON.parse(row.body));
      return kept.success ? [[row.instrument_id, kept.data] as const] : [];
    }),
  );
}

function standsAt(forecast: Beyond | undefined, atMs: number): number | null {
  const day = forecast?.timesMs.findIndex((one) => Math.abs(one - atMs) <= dayMs / 2) ?? -1;
  const out = forecast?.beyond[day] ?? null;
  return out === null ? null : 1 - out;
}

/** "8 in 10, if tuned on 3 December and the heating stays as planned; 4 in 10 as it stands." */
export function oddsSentence({ tuned, untuned }: Odds, day: string): string {
  const stands = untuned === null ? '' : `; ${inTen(untuned)} as it stands`;
  if (tuned !== null) {
    return `${capital(inTen(tuned))}, if tuned on ${day} and the heating stays as planned${stands}.`;
  }
  if (untuned !== null) {
    return `${capital(inTen(untuned))} as it stands, if the heating stays as planned; with a tuning on ${day} it cannot be told yet.`;
  }
  return `It cannot be told yet; tune on ${day}, and keep heating and windows as they are from then on.`;
}

const capital = (words: string): string => words.charAt(0).toUpperCase() + words.slice(1);
