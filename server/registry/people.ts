/** People as records: an address, hours, what they want to hear. */
import { createHash, randomBytes, timingSafeEqual } from 'node:crypto';
import type { PersonBody } from '../contract/index.ts';
import { personBody } from '../contract/index.ts';
import type { Database } from '../db/database.ts';
import type { Records } from '../db/schema.ts';
import { NotFound, seenBy, type Viewer } from './viewer.ts';

export interface PersonRow {
  readonly id: string;
  readonly organisationId: string;
  readonly body: PersonBody;
  readonly toldSeq: number;
  readonly digestMs: number;
  readonly key: string;
  readonly unsubscribedMs: number | null;
  readonly calendarMadeMs: number | null;
}

const fromRow = (row: Records['person']): PersonRow => ({
  id: row.id,
  organisationId: row.organisation_id,
  body: personBody.parse(JSON.parse(row.body)),
  toldSeq: row.told_seq,
  digestMs: row.digest_ms,
  key: row.key,
  unsubscribedMs: row.unsubscribed_ms,
  calendarMadeMs: row.calendar_made_ms,
});

export async function people(db: Database, viewer: Viewer): Promise<PersonRow[]> {
  const rows = await db
    .selectFrom('person')
    .$call(seenBy(viewer, 'person'))
    .selectAll()
    .orderBy('created_ms')
    .execute();
  return rows.map(fromRow);
}

/** By id alone: for links, whose signature says for whom they were made. */
export async function personById(db: Database, id: string): Promise<PersonRow | null> {
  const row = await db.selectFrom('person').selectAll().where('id', '=', id).executeTakeFirst();
  return row ? fromRow(row) : null;
}

/** Was there anybody to tell until now? */
const wasTold = (row: Records['person']): boolean =>
  row.unsubscribed_ms === null && personBody.parse(JSON.parse(row.body)).email !== null;

/**
 * A newcomer is told of what happens from now on, not of the past; so is who comes back, or is given an address at last.
 * @throws NotFound when the id, a venue or an instrument is not the viewer's
 */
export async function putPerson(
  db: Database,
  viewer: Viewer,
  id: string,
  body: PersonBody,
  nowMs: number,
): Promise<PersonRow> {
  return db.transaction().execute(async (trx) => {
    const kept = await trx.selectFrom('person').selectAll().where('id', '=', id).executeTakeFirst();
    if (kept && kept.organisation_id !== viewer.organisationId)
      throw new NotFound('id', 'id: no such person');
    for (const [table, field, ids] of [
      ['venue', 'venueIds', body.venueIds],
      ['instrument', 'instrumentIds', body.instrumentIds],
    ] as const) {
      if (ids.length === 0) continue;
      const found = await trx
        .selectFrom(table)
        .select('id')
        .where('organisation_id', '=', viewer.organisationId)
        .where('id', 'in', ids)
        .execute();
      if (found.length < new Set(ids).size) throw new NotFound(field, `${field}: no such ${table}`);
    }
    const last = await trx
      .selectFrom('notice_event')
      .select(({ fn }) => fn.max('seq').as('seq'))
      .executeTakeFirst();
    const told = kept && wasTold(kept) ? kept : { told_seq: last?.seq ?? 0, digest_ms: nowMs };
    const row = {
      id,
      organisation_id: viewer.organisationId,
      body: JSON.stringify(body),
      told_seq: told.told_seq,
      digest_ms: told.digest_ms,
      key: kept?.key ?? randomBytes(24).toString('base64url'),
      unsubscribed_ms: null,
      created_ms: kept?.created_ms ?? nowMs,
      calendar_hash: kept?.calendar_hash ?? null,
      calendar_made_ms: kept?.calendar_made_ms ?? null,
    };
    const { told_seq, digest_ms } = row;
    const change = { body: row.body, told_seq, digest_ms, unsubscribed_ms: null };
    await trx
      .insertInto('person')
      .values(row)
      .onConflict((conflict) => conflict.column('id').doUpdateSet(change))
      .execute();
    return fromRow(row);
  });
}

export async function unsubscribe(db: Database, id: string, nowMs: number): Promise<void> {
  await db.updateTable('person').set({ unsubscribed_ms: nowMs }).where('id', '=', id).execute();
}

const hashOf = (secret: string): string => createHash('sha256').update(secret).digest('base64url');

/**
 * Makes the secret of a person's calendar anew; the one before is void. Only its hash is kept.
 * @returns the token of the address: "{person}.{secret}"
 * @throws NotFound
 */
export async function renewCalendar(
  db: Database,
  viewer: Viewer,
  id: string,
  nowMs: number,
): Promise<string> {
  const secret = randomBytes(24).toString('base64url');
  const { numUpdatedRows } = await db
    .updateTable('person')
    .set({ calendar_hash: hashOf(secret), calendar_made_ms: nowMs })
    .where('organisation_id', '=', viewer.organisationId)
    .where('id', '=', id)
    .executeTakeFirst();
  if (numUpdatedRows === 0n) throw new NotFound('id', 'id: no such person');
  return `${id}.${secret}`;
}

/** Whose calendar a token opens; null where it opens none. */
export async function personByCalendar(db: Database, token: string): Promise<PersonRow | null> {
  const [id = '', secret = ''] = token.split('.');
  const row = await db.selectFrom('person').selectAll().where('id', '=', id).executeTakeFirst();
  if (!row?.calendar_hash) return null;
  const [kept, given] = [Buffer.from(row.calendar_hash), Buffer.from(hashOf(secret))];
  return kept.length === given.length && timingSafeEqual(kept, given) ? fromRow(row) : null;
}
