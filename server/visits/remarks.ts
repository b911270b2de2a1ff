/** What is reported between visits. A remark is kept as it was said; a visit answers it. */
import { isDeepStrictEqual } from 'node:util';
import type { Remark, RemarkBody, Visit } from '../contract/index.ts';
import { remarkBody } from '../contract/index.ts';
import type { Database } from '../db/database.ts';
import type { Records } from '../db/schema.ts';
import { mustBeKnown } from '../registry/known.ts';
import { Contradiction, NotFound, seenBy, type Viewer } from '../registry/viewer.ts';

function fromRow(row: Records['remark']): Remark {
  const { answer_visit_id: visitId, answer_ms: atMs, answer: words } = row;
  const answer = visitId === null || atMs === null || words === null ? null : { visitId, atMs, words };
  return { ...remarkBody.parse(JSON.parse(row.body)), id: row.id, answer };
}

/** Newest first. */
export async function remarks(
  db: Database,
  viewer: Viewer,
  which: { readonly instrumentId?: string | undefined; readonly open?: boolean },
): Promise<Remark[]> {
  let query = db.selectFrom('remark').$call(seenBy(viewer, 'remark')).selectAll();
  if (which.instrumentId !== undefined) query = query.where('instrument_id', '=', which.instrumentId);
  if (which.open) query = query.where('answer', 'is', null);
  return (await query.orderBy('at_ms', 'desc').execute()).map(fromRow);
}

/**
 * Keeps a remark; the same one again changes nothing.
 * @throws Contradiction, NotFound
 */
export async function putRemark(db: Database, viewer: Viewer, id: string, body: RemarkBody): Promise<Remark> {
  return db.transaction().execute(async (trx) => {
    const kept = await trx.selectFrom('remark').selectAll().where('id', '=', id).executeTakeFirst();
    if (kept && kept.organisation_id !== viewer.organisationId)
      throw new NotFound('id', 'id: no such remark');
    if (kept) {
      if (isDeepStrictEqual(remarkBody.parse(JSON.parse(kept.body)), body)) return fromRow(kept);
      throw new Contradiction('id', 'id: another remark was sent under this id');
    }
    await mustBeKnown(trx, viewer, 'instrument', body.instrumentId);
    await trx
      .insertInto('remark')
      .values({
        id,
        organisation_id: viewer.organisationId,
        instrument_id: body.instrumentId,
        at_ms: body.atMs,
        body: JSON.stringify(body),
        answer_visit_id: null,
        answer_ms: null,
        answer: null,
      })
      .execute();
    return { ...body, id, answer: null };
  });
}

/** What a visit answers; remarks it does not know are left, since a phone may have been long without a signal. */
export async function answerRemarks(db: Database, viewer: Viewer, visit: Visit): Promise<void> {
  for (const { remarkId, answer } of visit.sheet?.remarksAnswered ?? []) {
    await db
      .updateTable('remark')
      .set({ answer_visit_id: visit.id, answer_ms: visit.atMs, answer })
      .where('organisation_id', '=', viewer.organisationId)
      .where('instrument_id', '=', visit.instrumentId)
      .where('id', '=', remarkId)
      .execute();
  }
}
