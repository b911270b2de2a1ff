/** Notices as rows and as the contract shows them. */
import { sql } from 'kysely';
import type { Notice } from '../contract/index.ts';
import { notice as noticeSchema } from '../contract/index.ts';
import type { Database } from '../db/database.ts';
import type { Records } from '../db/schema.ts';
import { NotFound, seenBy, type Viewer } from '../registry/viewer.ts';

export function noticeFromRow(row: Records['notice'] | NoticeRow, members = 0): Notice {
  return noticeSchema.parse({
    id: row.id,
    rule: row.rule,
    instrumentId: row.instrument_id,
    sensorId: row.sensor_id,
    venueId: row.venue_id,
    place: row.place,
    severity: row.severity,
    state: row.state,
    beganMs: row.began_ms,
    overMs: row.over_ms,
    what: row.what,
    why: row.why,
    toDo: row.to_do,
    notBeforeMs: row.not_before_ms,
    minutes: row.minutes,
    evidence: JSON.parse(row.evidence),
    toVenue: row.to_venue,
    toClient: row.to_client,
    acknowledged:
      row.acknowledged_ms === null
        ? null
        : { atMs: row.acknowledged_ms, by: row.acknowledged_by ?? '', note: row.acknowledged_note ?? '' },
    snoozedUntilMs: row.snoozed_until_ms,
    frozenBecause: row.frozen_because,
    endedBecause: row.ended_because,
    partOf: row.part_of,
    members,
  });
}

type NoticeRow = Omit<Records['notice'], 'to_venue' | 'to_client'> & {
  readonly to_venue: string;
  readonly to_client: string;
};

/** With those that are over only so many, the newest, unless all are asked for. */
const shown = 1000;

/** Open and frozen ones first, then by when they began, newest first. */
export async function notices(
  db: Database,
  viewer: Viewer,
  which: { readonly over: boolean; readonly all?: boolean; readonly instrumentId?: string },
): Promise<Notice[]> {
  let query = db.selectFrom('notice').$call(seenBy(viewer, 'notice')).selectAll();
  if (!which.over) query = query.where('state', '<>', 'over');
  if (which.instrumentId) query = query.where('instrument_id', '=', which.instrumentId);
  if (which.over && !which.all) query = query.limit(shown);
  const rows = await query.orderBy(sql`over_ms IS NOT NULL`).orderBy('began_ms', 'desc').execute();
  const members = new Map<string, number>();
  for (const { part_of } of rows) if (part_of) members.set(part_of, (members.get(part_of) ?? 0) + 1);
  return rows.map((row) => noticeFromRow(row, members.get(row.id)));
}

/** @throws NotFound */
export async function noticeById(db: Database, viewer: Viewer, id: string): Promise<Notice> {
  const row = await db
    .selectFrom('notice')
    .$call(seenBy(viewer, 'notice'))
    .selectAll()
    .where('id', '=', id)
    .executeTakeFirst();
  if (!row) throw new NotFound('id', 'id: no such notice');
  return noticeFromRow(row);
}
