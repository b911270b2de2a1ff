/** Sensors make themselves known by sending; where they stand is said by a person, with dates. */
import { randomUUID } from 'node:crypto';
import { sql } from 'kysely';
import type { Placement } from '../contract/index.ts';
import { placement as placementSchema } from '../contract/index.ts';
import { among } from '../db/among.ts';
import type { Database } from '../db/database.ts';
import type { Records } from '../db/schema.ts';
import { mustBeKnown } from './known.ts';
import { putOwned } from './put-owned.ts';
import { Contradiction, NotFound, seenBy, type Viewer } from './viewer.ts';

export type SensorRow = Records['sensor'];

export async function sensorRows(db: Database, viewer: Viewer): Promise<SensorRow[]> {
  return db.selectFrom('sensor').$call(seenBy(viewer, 'sensor')).selectAll().orderBy('urn').execute();
}

export interface SensorNews {
  readonly urn: string;
  readonly firstMs: number;
  readonly lastMs: number;
  readonly humidityPct: number | null;
  readonly temperatureC: number | null;
  readonly batteryPct: number | null;
  readonly intervalMs: number | null;
}

/** What is known of a sensor after it spoke again. Older news never overwrites newer. */
function afterNews(viewer: Viewer, found: SensorRow | undefined, news: SensorNews): SensorRow {
  const newer = !found?.last_ms || news.lastMs >= found.last_ms;
  return {
    id: found?.id ?? randomUUID(),
    organisation_id: viewer.organisationId,
    urn: news.urn,
    first_seen_ms: Math.min(found?.first_seen_ms ?? news.firstMs, news.firstMs),
    last_ms: newer ? news.lastMs : (found?.last_ms ?? null),
    last_humidity_pct: (newer ? news.humidityPct : null) ?? found?.last_humidity_pct ?? null,
    last_temperature_c: (newer ? news.temperatureC : null) ?? found?.last_temperature_c ?? null,
    battery_pct: (newer ? news.batteryPct : null) ?? found?.battery_pct ?? null,
    interval_ms: news.intervalMs ?? found?.interval_ms ?? null,
  };
}

/** Notes what sensors said last, by measured time; newcomers get a row. At most three thousand at once: SQLite binds some 32,000 values. */
export async function noteSensors(
  db: Database,
  viewer: Viewer,
  all: readonly SensorNews[],
): Promise<SensorRow[]> {
  if (all.length === 0) return [];
  const urns = all.map((news) => news.urn);
  let known = await sensorsNamed(db, viewer, urns);
  const newcomers = all
    .filter(({ urn }) => !known.has(urn))
    .map((news) => afterNews(viewer, undefined, news));
  if (newcomers.length > 0) {
    await db
      .insertInto('sensor')
      .values(newcomers)
      .onConflict((conflict) => conflict.columns(['organisation_id', 'urn']).doNothing())
      .execute();
    // Another process may have been quicker: the row that stands is the sensor's.
    known = await sensorsNamed(db, viewer, urns);
  }
  const rows = all.map((news) => afterNews(viewer, known.get(news.urn), news));
  await updateSensors(db, rows);
  return rows;
}

async function sensorsNamed(db: Database, viewer: Viewer, urns: readonly string[]) {
  const rows = await db
    .selectFrom('sensor')
    .$call(seenBy(viewer, 'sensor'))
    .selectAll()
    .where('urn', 'in', among(urns))
    .execute();
  return new Map(rows.map((row) => [row.urn, row]));
}

async function updateSensors(db: Database, rows: readonly SensorRow[]): Promise<void> {
  // One parameter for all of them: a fleet speaks every few minutes, and building such a statement costs more than it.
  const news = JSON.stringify(
    rows.map((row) => [
      row.id,
      row.first_seen_ms,
      row.last_ms,
      row.last_humidity_pct,
      row.last_temperature_c,
      row.battery_pct,
      row.interval_ms,
    ]),
  );
  await sql`UPDATE sensor SET first_seen_ms = value ->> 1, last_ms = value ->> 2, last_humidity_pct = value ->> 3,
      last_temperature_c = value ->> 4, battery_pct = value ->> 5, interval_ms = value ->> 6
    FROM json_each(${news}) WHERE sensor.id = value ->> 0`.execute(db);
}

/** The same for one sensor. */
export async function noteSensor(db: Database, viewer: Viewer, news: SensorNews): Promise<SensorRow> {
  const [row] = await noteSensors(db, viewer, [news]);
  if (!row) throw new Error('a sensor without a row');
  return row;
}

export function placementFromRow(row: Records['placement']): Placement {
  return placementSchema.parse({
    id: row.id,
    sensorId: row.sensor_id,
    spot: row.spot,
    roomId: row.room_id,
    instrumentId: row.instrument_id,
    venueId: row.venue_id,
    fromMs: row.from_ms,
    untilMs: row.until_ms,
  });
}

export async function placements(db: Database, viewer: Viewer): Promise<Placement[]> {
  const rows = await db
    .selectFrom('placement')
    .$call(seenBy(viewer, 'placement'))
    .selectAll()
    .orderBy('from_ms')
    .execute();
  return rows.map(placementFromRow);
}

/** A placement with the name of its sensor, which is what the readings are kept under. */
export interface PlacedSensor {
  readonly urn: string;
  readonly sensorId: string;
  readonly fromMs: number;
  readonly untilMs: number | null;
}

/** The sensors that stood inside an instrument, in the air of a room, or outdoors at a venue, with their dates. */
export async function sensorsAt(
  db: Database,
  viewer: Viewer,
  where: { readonly instrumentId: string } | { readonly roomId: string } | { readonly venueId: string },
): Promise<PlacedSensor[]> {
  const query = db
    .selectFrom('placement')
    .innerJoin('sensor', 'sensor.id', 'placement.sensor_id')
    .$call(seenBy(viewer, 'placement'))
    .select([
      'sensor.urn as urn',
      'sensor.id as sensorId',
      'placement.from_ms as fromMs',
      'placement.until_ms as untilMs',
    ])
    .orderBy('placement.from_ms');
  if ('instrumentId' in where) {
    return query
      .where('spot', '=', 'inside')
      .where('placement.instrument_id', '=', where.instrumentId)
      .execute();
  }
  if ('roomId' in where) {
    return query.where('spot', '=', 'room').where('placement.room_id', '=', where.roomId).execute();
  }
  return query.where('spot', '=', 'outdoors').where('placement.venue_id', '=', where.venueId).execute();
}

/** The table and id a placement points at; the contract has checked that there is exactly one. */
function targetOf(given: Placement): { table: 'room' | 'instrument' | 'venue'; field: string; id: string } {
  if (given.roomId) return { table: 'room', field: 'roomId', id: given.roomId };
  if (given.instrumentId) return { table: 'instrument', field: 'instrumentId', id: given.instrumentId };
  if (given.venueId) return { table: 'venue', field: 'venueId', id: given.venueId };
  throw new Contradiction('spot', 'spot: say which room, instrument or venue');
}

/**
 * Places a sensor, or corrects a placement. One still open ends where the new one begins; two that would overlap
 * otherwise are refused, since a sensor stands in one place at a time.
 * @returns every placement that came, changed or ended, and the earliest time whose climate changes by it.
 * @throws NotFound, Contradiction
 */
export async function putPlacement(
  db: Database,
  viewer: Viewer,
  given: Placement,
): Promise<{ touched: Placement[]; changedFromMs: number }> {
  return db.transaction().execute((trx) => place(trx, viewer, given));
}

async function place(db: Database, viewer: Viewer, given: Placement) {
  await mustBeKnown(db, viewer, 'sensor', given.sensorId);
  const target = targetOf(given);
  const there = await db
    .selectFrom(target.table)
    .select('id')
    .where('organisation_id', '=', viewer.organisationId)
    .where('id', '=', target.id)
    .executeTakeFirst();
  if (!there) throw new NotFound(target.field, `${target.field}: no such ${target.table}`);

  const ofSensor = (await placements(db, viewer)).filter((one) => one.sensorId === given.sensorId);
  const touched = [given, ...ofSensor.filter((one) => one.id === given.id)];
  for (const other of ofSensor) {
    if (other.id === given.id || !overlaps(other, given)) continue;
    if (other.untilMs !== null || other.fromMs >= given.fromMs) {
      throw new Contradiction(
        'fromMs',
        `fromMs: the sensor stands elsewhere from ${new Date(other.fromMs).toISOString()} on; it can stand in one place at a time`,
      );
    }
    touched.push(other);
    await db
      .updateTable('placement')
      .set({ until_ms: given.fromMs })
      .where('organisation_id', '=', viewer.organisationId)
      .where('id', '=', other.id)
      .execute();
  }
  await putOwned(db, viewer, 'placement', {
    id: given.id,
    sensor_id: given.sensorId,
    spot: given.spot,
    room_id: given.roomId,
    instrument_id: given.instrumentId,
    venue_id: given.venueId,
    from_ms: given.fromMs,
    until_ms: given.untilMs,
  });
  const before = ofSensor.find((one) => one.id === given.id);
  return { touched, changedFromMs: Math.min(given.fromMs, before?.fromMs ?? given.fromMs) };
}

const overlaps = (a: Placement, b: Placement): boolean =>
  a.fromMs < (b.untilMs ?? Number.POSITIVE_INFINITY) && b.fromMs < (a.untilMs ?? Number.POSITIVE_INFINITY);
