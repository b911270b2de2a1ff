/**
 * Readings in doubt: kept and shown as they came, but out of everything that is computed. Somebody may believe them all
 * the same; then they count, and stay believed whatever is found later.
 */
import type { Database } from '../db/database.ts';
import { seriesKey } from './calibrations.ts';
import { seenBy, type Viewer } from './viewer.ts';

/** Readings of [fromMs, untilMs). */
export interface Doubt {
  readonly fromMs: number;
  readonly untilMs: number;
}

/** Why a row stands: it jumped, or it did and is believed. */
const jumped = 'jump';
const believed = 'believed';

/** Those that are left out, of each series. */
export async function doubts(db: Database): Promise<Map<string, Doubt[]>> {
  const rows = await db
    .selectFrom('doubt')
    .innerJoin('sensor', 'sensor.id', 'doubt.sensor_id')
    .select(['sensor.organisation_id as organisation', 'sensor.urn as urn', 'from_ms', 'until_ms'])
    .where('reason', '=', jumped)
    .orderBy('from_ms')
    .execute();
  const held = new Map<string, Doubt[]>();
  for (const row of rows) {
    const key = seriesKey({ organisation: row.organisation, sensor: row.urn });
    const list = held.get(key) ?? [];
    list.push({ fromMs: row.from_ms, untilMs: row.until_ms });
    held.set(key, list);
  }
  return held;
}

/** Of each sensor since a time, by its id: how many readings are in doubt, and when the last was. */
export async function doubtsSince(
  db: Database,
  viewer: Viewer,
  sinceMs: number,
): Promise<Map<string, { count: number; lastMs: number }>> {
  const rows = await db
    .selectFrom('doubt')
    .select(['sensor_id'])
    .select(({ fn }) => [fn.countAll<number>().as('count'), fn.max('from_ms').as('lastMs')])
    .where('organisation_id', '=', viewer.organisationId)
    .where('from_ms', '>=', sinceMs)
    .where('reason', '=', jumped)
    .groupBy('sensor_id')
    .execute();
  return new Map(rows.map(({ sensor_id, count, lastMs }) => [sensor_id, { count, lastMs }]));
}

/**
 * Replaces what is in doubt of a sensor within [fromMs, untilMs) by what is found now; what is believed stays so.
 * @returns the earliest time whose standing changed; null where nothing did.
 */
export async function putDoubts(
  db: Database,
  viewer: Viewer,
  sensorId: string,
  window: { readonly fromMs: number; readonly untilMs: number },
  found: readonly Doubt[],
): Promise<number | null> {
  const there = await db
    .selectFrom('doubt')
    .select(['from_ms', 'until_ms', 'reason'])
    .where('organisation_id', '=', viewer.organisationId)
    .where('sensor_id', '=', sensorId)
    .where('from_ms', '>=', window.fromMs)
    .where('from_ms', '<', window.untilMs)
    .execute();
  const same = (a: { from_ms: number; until_ms: number }, b: Doubt) =>
    a.from_ms === b.fromMs && a.until_ms === b.untilMs;
  const gone = there.filter((one) => one.reason === jumped && !found.some((other) => same(one, other)));
  const fresh = found.filter(
    (one) =>
      !there.some((other) => same(other, one) || (other.reason === believed && other.from_ms === one.fromMs)),
  );
  if (gone.length === 0 && fresh.length === 0) return null;
  await db.transaction().execute(async (trx) => {
    for (const one of gone) {
      await trx
        .deleteFrom('doubt')
        .where('sensor_id', '=', sensorId)
        .where('from_ms', '=', one.from_ms)
        .execute();
    }
    if (fresh.length > 0) {
      await trx
        .insertInto('doubt')
        .values(
          fresh.map(({ fromMs, untilMs }) => ({
            sensor_id: sensorId,
            organisation_id: viewer.organisationId,
            from_ms: fromMs,
            until_ms: untilMs,
            reason: jumped,
          })),
        )
        .execute();
    }
  });
  return Math.min(...gone.map((one) => one.from_ms), ...fresh.map((one) => one.fromMs));
}

/** Of one sensor, ascending: as many of the newest as somebody would look through. */
export async function doubtRows(
  db: Database,
  viewer: Viewer,
  sensorId: string,
): Promise<(Doubt & { readonly believed: boolean })[]> {
  const rows = await db
    .selectFrom('doubt')
    .$call(seenBy(viewer, 'doubt'))
    .select(['from_ms', 'until_ms', 'reason'])
    .where('sensor_id', '=', sensorId)
    .orderBy('from_ms', 'desc')
    .limit(1_000)
    .execute();
  return rows
    .map((row) => ({ fromMs: row.from_ms, untilMs: row.until_ms, believed: row.reason === believed }))
    .reverse();
}

/**
 * Says of what is in doubt within [fromMs, untilMs) that it counts, or that it does not.
 * @returns the earliest time whose standing changed; null where nothing did.
 */
export async function believe(
  db: Database,
  viewer: Viewer,
  sensorId: string,
  { fromMs, untilMs, ...said }: Doubt & { readonly believed: boolean },
): Promise<number | null> {
  const rows = await db
    .updateTable('doubt')
    .set({ reason: said.believed ? believed : jumped })
    .where('organisation_id', '=', viewer.organisationId)
    .where('sensor_id', '=', sensorId)
    .where('from_ms', '>=', fromMs)
    .where('from_ms', '<', untilMs)
    .where('reason', '=', said.believed ? jumped : believed)
    .returning('from_ms')
    .execute();
  return rows.length === 0 ? null : Math.min(...rows.map((row) => row.from_ms));
}
