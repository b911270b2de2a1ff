/** What people do about a notice: acknowledge this episode, or leave it alone until a time. */
import type { Notice } from '../contract/index.ts';
import type { Database } from '../db/database.ts';
import { Contradiction, seenBy, type Viewer } from '../registry/viewer.ts';
import { noticeById } from './notice-rows.ts';
import { insertEvents } from './notices.ts';

/** @throws NotFound; Contradiction where it is over */
export async function acknowledge(
  db: Database,
  viewer: Viewer,
  id: string,
  { by, note }: { readonly by: string; readonly note: string },
  nowMs: number,
): Promise<Notice> {
  return act(db, viewer, id, 'acknowledged', note, nowMs, {
    acknowledged_ms: nowMs,
    acknowledged_by: by,
    acknowledged_note: note,
  });
}

/** @throws NotFound; Contradiction where it is over or the time is past */
export async function snooze(
  db: Database,
  viewer: Viewer,
  id: string,
  { untilMs, by }: { readonly untilMs: number; readonly by: string },
  nowMs: number,
): Promise<Notice> {
  if (untilMs <= nowMs) throw new Contradiction('untilMs', 'untilMs: must lie ahead');
  return act(db, viewer, id, 'snoozed', by, nowMs, { snoozed_until_ms: untilMs });
}

async function act(
  db: Database,
  viewer: Viewer,
  id: string,
  kind: string,
  note: string,
  nowMs: number,
  change: Record<string, unknown>,
): Promise<Notice> {
  return db.transaction().execute(async (trx) => {
    const notice = await noticeById(trx, viewer, id);
    if (notice.state === 'over') throw new Contradiction('id', 'id: this notice is over');
    await trx
      .updateTable('notice')
      .set(change)
      .where('organisation_id', '=', viewer.organisationId)
      .where((eb) => eb.or([eb('id', '=', id), eb('part_of', '=', id)]))
      .execute();
    await insertEvents(trx, [
      {
        organisation_id: viewer.organisationId,
        notice_id: id,
        at_ms: nowMs,
        kind,
        severity: notice.severity,
        note,
      },
    ]);
    return noticeById(trx, viewer, id);
  });
}

export async function historyOf(
  db: Database,
  viewer: Viewer,
  id: string,
): Promise<{ events: { atMs: number; kind: string; note: string }[] }> {
  await noticeById(db, viewer, id);
  const events = await db
    .selectFrom('notice_event')
    .$call(seenBy(viewer, 'notice_event'))
    .select(['at_ms as atMs', 'kind', 'note'])
    .where('notice_id', '=', id)
    .orderBy('seq')
    .execute();
  return { events };
}
