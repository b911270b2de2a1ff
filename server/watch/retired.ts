/** What is still open of instruments that were retired: nobody judges them any more, so nothing else would end it. */
import type { Database } from '../db/database.ts';
import { seenBy, type Viewer } from '../registry/viewer.ts';
import { insertEvents } from './notices.ts';

/** @returns whether anything was ended. */
export async function endRetired(db: Database, viewer: Viewer, nowMs: number): Promise<boolean> {
  const rows = await db
    .selectFrom('notice')
    .innerJoin('instrument', 'instrument.id', 'notice.subject_id')
    .$call(seenBy(viewer, 'notice'))
    .where('notice.state', '<>', 'over')
    .where('instrument.retired_ms', 'is not', null)
    .select(['notice.id as id', 'notice.severity as severity'])
    .execute();
  if (rows.length === 0) return false;
  const because = 'the instrument was retired';
  await db.transaction().execute(async (trx) => {
    for (const { id, severity } of rows) {
      await trx
        .updateTable('notice')
        .set({ state: 'over', over_ms: nowMs, frozen_because: null, ended_because: because })
        .where('organisation_id', '=', viewer.organisationId)
        .where('id', '=', id)
        .execute();
      const event = { notice_id: id, at_ms: nowMs, kind: 'over', severity, note: because };
      await insertEvents(trx, [{ organisation_id: viewer.organisationId, ...event }]);
    }
  });
  return true;
}
