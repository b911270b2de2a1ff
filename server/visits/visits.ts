/** Visits as they were sent: immutable, under the id the device made. A correction is a new visit that names the old. */
import { isDeepStrictEqual } from 'node:util';
import type { Visit, VisitBody } from '../contract/index.ts';
import { visitBody } from '../contract/index.ts';
import type { Database } from '../db/database.ts';
import type { Records } from '../db/schema.ts';
import { mustBeKnown } from '../registry/known.ts';
import { Contradiction, NotFound, seenBy, type Viewer } from '../registry/viewer.ts';
import { rebuildDerived } from './conditions.ts';
import { answerRemarks } from './remarks.ts';

export { isTuning } from './is-tuning.ts';

function fromRow(row: Records['visit']): Visit {
  return { ...visitBody.parse(JSON.parse(row.body)), id: row.id, receivedMs: row.received_ms };
}

/** Newest first, corrected ones left out unless asked for. */
export async function visitsOf(db: Database, viewer: Viewer, instrumentId: string): Promise<Visit[]> {
  const rows = await db
    .selectFrom('visit')
    .$call(seenBy(viewer, 'visit'))
    .selectAll()
    .where('instrument_id', '=', instrumentId)
    .orderBy('at_ms', 'desc')
    .execute();
  const corrected = new Set(rows.map((row) => row.corrects));
  return rows.filter((row) => !corrected.has(row.id)).map(fromRow);
}

/** @throws NotFound */
export async function visitOf(db: Database, viewer: Viewer, id: string): Promise<Visit> {
  const row = await db
    .selectFrom('visit')
    .$call(seenBy(viewer, 'visit'))
    .selectAll()
    .where('id', '=', id)
    .executeTakeFirst();
  if (!row) throw new NotFound('id', 'id: no such visit');
  return fromRow(row);
}

/**
 * Keeps a visit. The same one again changes nothing.
 * @throws Contradiction (another body under this id, or what it corrects is corrected already), NotFound (instrument, or
 * the visit it corrects)
 */
export async function putVisit(
  db: Database,
  viewer: Viewer,
  id: string,
  body: VisitBody,
  nowMs: number,
): Promise<Visit> {
  return db.transaction().execute(async (trx) => {
    const kept = await trx.selectFrom('visit').selectAll().where('id', '=', id).executeTakeFirst();
    if (kept && kept.organisation_id !== viewer.organisationId) throw new NotFound('id', 'id: no such visit');
    if (kept) {
      const sentBefore = visitBody.parse(JSON.parse(kept.body));
      if (isDeepStrictEqual(sentBefore, body)) return fromRow(kept);
      throw new Contradiction(
        'id',
        'id: another visit was sent under this id; send a correction under a new one',
      );
    }
    await mustBeKnown(trx, viewer, 'instrument', body.instrumentId);
    if (body.corrects !== null) {
      const old = await trx
        .selectFrom('visit')
        .$call(seenBy(viewer, 'visit'))
        .select('id')
        .where('id', '=', body.corrects)
        .where('instrument_id', '=', body.instrumentId)
        .executeTakeFirst();
      if (!old) throw new NotFound('corrects', 'corrects: no such visit of this instrument');
      // Two corrections of one visit would stand side by side, and count twice.
      const meanwhile = await trx
        .selectFrom('visit')
        .$call(seenBy(viewer, 'visit'))
        .select('id')
        .where('instrument_id', '=', body.instrumentId)
        .where('corrects', '=', body.corrects)
        .executeTakeFirst();
      if (meanwhile)
        throw new Contradiction(
          'corrects',
          'corrects: this visit was corrected on another device meanwhile; send this as a correction of that',
        );
    }
    await trx
      .insertInto('visit')
      .values({
        id,
        organisation_id: viewer.organisationId,
        instrument_id: body.instrumentId,
        at_ms: body.atMs,
        received_ms: nowMs,
        corrects: body.corrects,
        body: JSON.stringify(body),
      })
      .execute();
    const visit = { ...body, id, receivedMs: nowMs };
    await rebuildDerived(trx, viewer, body.instrumentId, await visitsOf(trx, viewer, body.instrumentId));
    await answerRemarks(trx, viewer, visit);
    return visit;
  });
}
