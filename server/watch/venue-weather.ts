/** What is known of the coming days at a venue, and what a frost in them would do to its pianos. */
import type { VenueWeather } from '../contract/index.ts';
import type { Database } from '../db/database.ts';
import { instruments } from '../registry/instruments.ts';
import { venues } from '../registry/venues.ts';
import { NotFound, type Viewer } from '../registry/viewer.ts';
import { cautionsFor } from './advice.ts';
import { frostPianos, weatherFrom } from './evaluate-venues.ts';
import { frostAhead, frostWords } from './frost-ahead.ts';
import { registryFacts } from './registry-facts.ts';
import { dayStartMs, localDay } from './venue-day.ts';
import { dayName } from './wording.ts';

const hourMs = 3_600_000;

/** @throws NotFound */
export async function venueWeather(
  db: Database,
  viewer: Viewer,
  venueId: string,
  nowMs: number,
): Promise<VenueWeather> {
  const venue = (await venues(db, viewer)).find((one) => one.id === venueId);
  if (!venue) throw new NotFound('id', 'id: no such venue');
  const today = localDay(nowMs, venue.timeZone);
  const days = await weatherFrom(db, viewer, venueId, today);
  const there = (await instruments(db, viewer)).filter((one) => one.venueId === venueId);
  const limit = (await registryFacts(db, viewer)).settingsOf(venueId)['frost humidity'];
  const known = days[0]?.day === today;
  const frost = known ? frostAhead(days, await frostPianos(db, there, nowMs), limit) : null;
  if (!frost) return { today, days, frost: null };
  const noonMs = dayStartMs(frost.day, venue.timeZone) + 12 * hourMs;
  const { what, toDo } = frostWords(frost, dayName(noonMs, venue.timeZone, nowMs));
  const pianos = frost.pianos.map(({ place, humidityPct, expectedPct, dryShare }) => ({
    place: place.startsWith(`${venue.name} · `) ? place.slice(venue.name.length + 3) : place,
    humidityPct,
    expectedPct,
    dryShare,
  }));
  return { today, days, frost: { what, toDo, cautions: cautionsFor('frost-ahead'), pianos } };
}
