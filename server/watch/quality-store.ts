/** Reads what the quality of the watch is judged by. */
import type { WatchQuality } from '../contract/index.ts';
import type { Database } from '../db/database.ts';
import { seenBy, type Viewer } from '../registry/viewer.ts';
import { qualityOf } from './quality.ts';

export async function watchQuality(
  db: Database,
  viewer: Viewer,
  days: number,
  nowMs: number,
): Promise<WatchQuality> {
  const rows = await db
    .selectFrom('notice')
    .$call(seenBy(viewer, 'notice'))
    .select([
      'rule',
      'subject_id',
      'place',
      'began_ms',
      'over_ms',
      'acknowledged_ms',
      'part_of',
      'instrument_id',
    ])
    .where('began_ms', '>=', nowMs - days * 86_400_000)
    .execute();
  const done = await db
    .selectFrom('call_done')
    .$call(seenBy(viewer, 'call_done'))
    .select(['instrument_id', 'done_ms'])
    .execute();
  const counted = await db
    .selectFrom('instrument')
    .$call(seenBy(viewer, 'instrument'))
    .select(({ fn }) => fn.countAll<number>().as('count'))
    .executeTakeFirstOrThrow();
  const notices = rows.map((row) => ({
    rule: row.rule,
    subjectId: row.subject_id,
    place: row.place,
    beganMs: row.began_ms,
    overMs: row.over_ms,
    acknowledged: row.acknowledged_ms !== null,
    ledToWork: done.some(
      (one) =>
        one.instrument_id === row.instrument_id &&
        one.done_ms >= row.began_ms &&
        one.done_ms <= (row.over_ms ?? nowMs) + 86_400_000,
    ),
    partOf: row.part_of,
  }));
  return qualityOf(notices, Number(counted.count), days, nowMs);
}
