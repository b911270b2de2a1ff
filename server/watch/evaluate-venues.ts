/** Asks the rule about a venue's weather: frost ahead. */
import { DateTime } from 'luxon';
import type { Venue } from '../contract/index.ts';
import type { Database } from '../db/database.ts';
import type { PlacedInstrument } from '../registry/instruments.ts';
import { seenBy, type Viewer } from '../registry/viewer.ts';
import { meanOver } from './course.ts';
import { loadCourses } from './courses.ts';
import { isWatched } from './fold.ts';
import { aheadDays, type FrostPiano, frostAhead, frostWords, type WeatherDay } from './frost-ahead.ts';
import { applyDecisions, openEpisodes } from './notices.ts';
import { loadOutlooks } from './outlook-store.ts';
import type { RegistryFacts } from './registry-facts.ts';
import { stressOf } from './situation.ts';
import { dayName } from './wording.ts';

export async function putWeather(
  db: Database,
  viewer: Viewer,
  venueId: string,
  days: readonly WeatherDay[],
  nowMs: number,
): Promise<void> {
  const rows = days.map((day) => ({
    venue_id: venueId,
    organisation_id: viewer.organisationId,
    day: day.day,
    low_c: day.lowC,
    high_c: day.highC,
    dew_point_c: day.dewPointC,
    said_ms: nowMs,
  }));
  await db
    .insertInto('weather_day')
    .values(rows)
    .onConflict((conflict) =>
      conflict.columns(['venue_id', 'day']).doUpdateSet((eb) => ({
        low_c: eb.ref('excluded.low_c'),
        high_c: eb.ref('excluded.high_c'),
        dew_point_c: eb.ref('excluded.dew_point_c'),
        said_ms: eb.ref('excluded.said_ms'),
      })),
    )
    .execute();
}

export async function weatherFrom(
  db: Database,
  viewer: Viewer,
  venueId: string,
  day: string,
): Promise<WeatherDay[]> {
  return db
    .selectFrom('weather_day')
    .$call(seenBy(viewer, 'weather_day'))
    .select(['day', 'low_c as lowC', 'high_c as highC', 'dew_point_c as dewPointC'])
    .where('venue_id', '=', venueId)
    .where('day', '>=', day)
    .orderBy('day')
    .limit(aheadDays)
    .execute();
}

/** @returns whether any notice began, ended or changed. */
export async function evaluateVenues(
  db: Database,
  viewer: Viewer,
  facts: RegistryFacts,
  venues: readonly Venue[],
  nowMs: number,
): Promise<boolean> {
  let changed = false;
  const foretold = await venuesWithWeather(db, viewer, nowMs);
  const open = await openEpisodes(
    db,
    viewer,
    venues.map((venue) => venue.id),
  );
  for (const venue of venues) {
    if (!foretold.has(venue.id) && !open.has(venue.id)) continue;
    const today = DateTime.fromMillis(nowMs, { zone: venue.timeZone }).toISODate() ?? '';
    const days = await weatherFrom(db, viewer, venue.id, today);
    const settings = facts.settingsOf(venue.id);
    const isOpen = (open.get(venue.id) ?? []).some((one) => one.rule === 'frost-ahead');
    if (!isOpen && (days.length < 2 || days[0]?.day !== today)) continue;
    const there = facts.instruments.filter((one) => one.venueId === venue.id);
    const pianos = await frostPianos(db, there, nowMs);
    // Once told, it stays until the cold has come or the forecast has clearly changed: three points back.
    const limit = settings['frost humidity'] + (isOpen ? 3 : 0);
    const frost = isWatched('frost-ahead', settings) ? frostAhead(days, pianos, limit) : null;
    const decision = {
      rule: 'frost-ahead' as const,
      holds: frost !== null,
      sinceMs: nowMs,
      frozen: null,
      severity: (frost?.pianos.some((one) => one.dryShare >= 0.5) ? 2 : 1) as 1 | 2,
      endedBecause: 'the cold has come, or is no longer foretold',
      words: () => {
        if (!frost) throw new Error('frost-ahead speaks only of a frost');
        const dayMs = DateTime.fromISO(frost.day, { zone: venue.timeZone }).plus({ hours: 12 }).toMillis();
        return frostWords(frost, dayName(dayMs, venue.timeZone, nowMs));
      },
    };
    const subject = {
      id: venue.id,
      instrumentId: null,
      sensorId: null,
      venueId: venue.id,
      place: venue.name,
    };
    const news = await db
      .transaction()
      .execute((trx) => applyDecisions(trx, viewer, [{ subject, decisions: [decision] }], open, nowMs));
    changed = news.size > 0 || changed;
  }
  return changed;
}

/** Those of whose coming days anything is known. */
async function venuesWithWeather(db: Database, viewer: Viewer, nowMs: number): Promise<Set<string>> {
  // By whatever clock: no venue's today lies before it.
  const day = DateTime.fromMillis(nowMs, { zone: 'utc' }).minus({ days: 1 }).toISODate() ?? '';
  const rows = await db
    .selectFrom('weather_day')
    .$call(seenBy(viewer, 'weather_day'))
    .select('venue_id')
    .where('day', '>=', day)
    .distinct()
    .execute();
  return new Set(rows.map((row) => row.venue_id));
}

export async function frostPianos(
  db: Database,
  there: readonly PlacedInstrument[],
  nowMs: number,
): Promise<FrostPiano[]> {
  if (there.length === 0) return [];
  const ids = there.map((one) => one.id);
  const [courses, outlooks] = [await loadCourses(db, ids), await loadOutlooks(db, ids)];
  return there.flatMap((one) => {
    const course = courses.get(one.id);
    const humidityPct = course ? meanOver(course, 24) : null;
    if (!course || humidityPct === null || course.temperatureC === null) return [];
    if (nowMs - course.atMs > 24 * 3_600_000) return [];
    const stress = stressOf(one, course, outlooks.get(one.id)?.findings ?? []);
    const dry = (course.moisturePct ?? 0) < (course.referencePct ?? 0);
    const dryShare = dry ? (stress?.ratio ?? 0) : 0;
    return [
      { place: `${one.roomName} · ${one.name}`, humidityPct, temperatureC: course.temperatureC, dryShare },
    ];
  });
}
