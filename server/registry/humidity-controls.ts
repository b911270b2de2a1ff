/** Humidity control fitted in an instrument: since when, what it can do, where it is set. */
import type { HumidityControl } from '../contract/index.ts';
import type { Database } from '../db/database.ts';
import type { Records } from '../db/schema.ts';
import { mustBeKnown } from './known.ts';
import { NotFound, seenBy, type Viewer } from './viewer.ts';

/** The control fitted at a time; null where there is none. */
export async function humidityControl(
  db: Database,
  viewer: Viewer,
  instrumentId: string,
  atMs: number,
): Promise<HumidityControl | null> {
  const row = await db
    .selectFrom('humidity_control')
    .$call(seenBy(viewer, 'humidity_control'))
    .selectAll()
    .where('instrument_id', '=', instrumentId)
    .where('since_ms', '<=', atMs)
    .orderBy('since_ms', 'desc')
    .executeTakeFirst();
  if (!row || (row.until_ms !== null && row.until_ms <= atMs)) return null;
  return fromRow(row);
}

const fromRow = (row: Records['humidity_control']): HumidityControl => ({
  id: row.id,
  instrumentId: row.instrument_id,
  kind: row.kind as HumidityControl['kind'],
  setPct: row.set_pct,
  sinceMs: row.since_ms,
  untilMs: row.until_ms,
});

/** All that an instrument has and had, newest first; of another tenant's instrument none. */
export async function humidityControls(
  db: Database,
  viewer: Viewer,
  instrumentId: string,
): Promise<HumidityControl[]> {
  const rows = await db
    .selectFrom('humidity_control')
    .$call(seenBy(viewer, 'humidity_control'))
    .selectAll()
    .where('instrument_id', '=', instrumentId)
    .orderBy('since_ms', 'desc')
    .execute();
  return rows.map(fromRow);
}

/** @throws NotFound when the instrument is not the viewer's. */
export async function putHumidityControl(
  db: Database,
  viewer: Viewer,
  given: HumidityControl,
): Promise<HumidityControl> {
  return db.transaction().execute(async (trx) => {
    await mustBeKnown(trx, viewer, 'instrument', given.instrumentId);
    const kept = await trx
      .selectFrom('humidity_control')
      .select('organisation_id')
      .where('id', '=', given.id)
      .executeTakeFirst();
    if (kept && kept.organisation_id !== viewer.organisationId) {
      throw new NotFound('id', 'id: no such humidity control');
    }
    const row = {
      instrument_id: given.instrumentId,
      kind: given.kind,
      set_pct: given.setPct,
      since_ms: given.sinceMs,
      until_ms: given.untilMs,
    };
    await trx
      .insertInto('humidity_control')
      .values({ id: given.id, organisation_id: viewer.organisationId, ...row })
      .onConflict((conflict) => conflict.column('id').doUpdateSet(row))
      .execute();
    return given;
  });
}
