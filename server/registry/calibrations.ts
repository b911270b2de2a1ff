/** Dated calibrations of sensors. An entry is never changed; a later one takes its place by pointing at it. */
import type { Calibration, CalibrationBody, Correction } from '../contract/index.ts';
import { calibrationBody } from '../contract/index.ts';
import type { Database } from '../db/database.ts';
import { mustBeKnown } from './known.ts';
import { Contradiction, NotFound, seenBy, type Viewer } from './viewer.ts';

export interface Line {
  readonly gain: number;
  readonly offsetPct: number;
  readonly offsetC: number;
}

/** All entries of a sensor, newest first. */
export async function calibrationsOf(db: Database, viewer: Viewer, sensorId: string): Promise<Calibration[]> {
  const rows = await db
    .selectFrom('calibration')
    .$call(seenBy(viewer, 'calibration'))
    .selectAll()
    .where('sensor_id', '=', sensorId)
    .orderBy('from_ms', 'desc')
    .orderBy('made_ms', 'desc')
    .execute();
  return rows.map((row) => ({
    id: row.id,
    sensorId: row.sensor_id,
    madeMs: row.made_ms,
    body: calibrationBody.parse(JSON.parse(row.body)),
    fromMs: row.from_ms,
    gain: row.gain,
    offsetPct: row.offset_pct,
    offsetC: row.offset_c,
    correctedBy: rows.find(({ corrects }) => corrects === row.id)?.id ?? null,
  }));
}

/**
 * Keeps an entry. The same again is harmless.
 * @returns the earliest time whose readings mean something else by it.
 * @throws NotFound, Contradiction
 */
export async function putCalibration(
  db: Database,
  viewer: Viewer,
  given: {
    readonly id: string;
    readonly sensorId: string;
    readonly body: CalibrationBody;
    readonly line: Line;
  },
  nowMs: number,
): Promise<number> {
  const { id, sensorId, body, line } = given;
  await mustBeKnown(db, viewer, 'sensor', sensorId, 'id');
  if (body.fromMs > nowMs + 86_400_000) throw new Contradiction('fromMs', 'fromMs: lies in the future');
  const text = JSON.stringify(body);
  const there = await db.selectFrom('calibration').selectAll().where('id', '=', id).executeTakeFirst();
  if (there) {
    if (there.organisation_id !== viewer.organisationId) throw new NotFound('id', 'id: no such calibration');
    if (there.sensor_id === sensorId && there.body === text) return body.fromMs;
    throw new Contradiction('id', 'id: another calibration is kept under it; correct that by a new entry');
  }
  const all = await calibrationsOf(db, viewer, sensorId);
  const before = body.corrects === null ? null : all.find((one) => one.id === body.corrects);
  if (before === undefined) throw new NotFound('corrects', 'corrects: this sensor has no such calibration');
  if (before?.correctedBy) throw new Contradiction('corrects', 'corrects: it was corrected already');
  await db
    .insertInto('calibration')
    .values({
      id,
      organisation_id: viewer.organisationId,
      sensor_id: sensorId,
      from_ms: body.fromMs,
      kind: body.kind,
      gain: line.gain,
      offset_pct: line.offsetPct,
      offset_c: line.offsetC,
      body: text,
      corrects: body.corrects,
      made_ms: nowMs,
    })
    .execute();
  return Math.min(body.fromMs, before?.fromMs ?? body.fromMs);
}

/** What holds of each sensor, oldest first, by organisation and the name it sends under. */
export async function corrections(db: Database): Promise<Map<string, Correction[]>> {
  const rows = await db
    .selectFrom('calibration')
    .innerJoin('sensor', 'sensor.id', 'calibration.sensor_id')
    .select([
      'calibration.id as id',
      'corrects',
      'sensor.organisation_id as organisation',
      'sensor.urn as urn',
    ])
    .select(['from_ms', 'gain', 'offset_pct', 'offset_c'])
    .orderBy('from_ms')
    .orderBy('made_ms')
    .execute();
  const corrected = new Set(rows.map(({ corrects }) => corrects));
  const held = new Map<string, Correction[]>();
  for (const row of rows) {
    if (corrected.has(row.id)) continue;
    const key = seriesKey({ organisation: row.organisation, sensor: row.urn });
    const list = held.get(key) ?? [];
    list.push({ fromMs: row.from_ms, gain: row.gain, offsetPct: row.offset_pct, offsetC: row.offset_c });
    held.set(key, list);
  }
  return held;
}

export const seriesKey = (id: { readonly organisation: string; readonly sensor: string }): string =>
  `${id.organisation} ${id.sensor}`;
