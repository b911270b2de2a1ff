/** Reads what the quality of the watch is judged by. */
import type { RoomState, RuleName, WatchQuality } from '../contract/index.ts';
import type { Database } from '../db/database.ts';
import { instruments } from '../registry/instruments.ts';
import { seenBy, type Viewer } from '../registry/viewer.ts';
import { visitsFor } from './calls.ts';
import { againMs, qualityOf } from './quality.ts';

const dayMs = 86_400_000;

/** What the venue ticks when it has done what a rule asks of it. */
const tickedAs: Partial<Record<RuleName, RoomState>> = {
  'board-dry': 'dry',
  'pins-dry': 'dry',
  'board-wet': 'damp',
  'action-wet': 'damp',
  rust: 'damp',
  mould: 'piano',
  swing: 'piano',
  sweat: 'piano',
  'control-lost': 'control',
};

export async function watchQuality(
  db: Database,
  viewer: Viewer,
  days: number,
  nowMs: number,
): Promise<WatchQuality> {
  const fromMs = nowMs - days * dayMs;
  const rows = await db
    .selectFrom('notice')
    .$call(seenBy(viewer, 'notice'))
    .select(['id', 'rule', 'subject_id', 'place', 'began_ms', 'over_ms'])
    .select(['acknowledged_ms', 'part_of', 'instrument_id'])
    .where((eb) =>
      eb.or([eb('began_ms', '>=', fromMs), eb('state', '<>', 'over'), eb('over_ms', '>=', fromMs - againMs)]),
    )
    .execute();
  const done = await db
    .selectFrom('call_done')
    .$call(seenBy(viewer, 'call_done'))
    .select(['instrument_id', 'kind', 'done_ms'])
    .execute();
  const ticked = await db
    .selectFrom('venue_task')
    .$call(seenBy(viewer, 'venue_task'))
    .select(['room_id', 'kind', 'done_ms'])
    .execute();
  const all = await instruments(db, viewer);
  const roomOf = new Map(all.map((one) => [one.id, one.roomId]));

  /** A visit of the kind it asks for, or a tick by the venue, while it was open or within a day of its end. */
  function ledToWork(row: (typeof rows)[number]): boolean {
    const rule = row.rule as RuleName;
    const inTime = (atMs: number) => atMs >= row.began_ms && atMs <= (row.over_ms ?? nowMs) + dayMs;
    const kinds: readonly string[] = visitsFor(rule);
    if (row.instrument_id === null) {
      // Of a whole venue: what was done about any that is told under it.
      return rows.some((one) => one.part_of === row.id && ledToWork(one));
    }
    const room = roomOf.get(row.instrument_id);
    return (
      done.some(
        (one) => one.instrument_id === row.instrument_id && kinds.includes(one.kind) && inTime(one.done_ms),
      ) || ticked.some((one) => one.room_id === room && one.kind === tickedAs[rule] && inTime(one.done_ms))
    );
  }

  const notices = rows.map((row) => ({
    rule: row.rule,
    subjectId: row.subject_id,
    place: row.place,
    beganMs: row.began_ms,
    overMs: row.over_ms,
    acknowledged: row.acknowledged_ms !== null,
    ledToWork: ledToWork(row),
    partOf: row.part_of,
  }));
  return qualityOf(notices, all.length, days, nowMs);
}
