/** Where notices are posted. The secret goes in and is never told again. */
import type { WebhookBody } from '../contract/index.ts';
import type { Database } from '../db/database.ts';
import { NotFound, seenBy, type Viewer } from './viewer.ts';

export interface WebhookRow {
  readonly id: string;
  readonly url: string;
}

export function webhooks(db: Database, viewer: Viewer): Promise<WebhookRow[]> {
  return db
    .selectFrom('webhook')
    .$call(seenBy(viewer, 'webhook'))
    .select(['id', 'url'])
    .orderBy('created_ms')
    .execute();
}

/** A new one is told of what happens from now on. @throws NotFound when the id is another tenant's */
export async function putWebhook(
  db: Database,
  viewer: Viewer,
  id: string,
  body: WebhookBody,
  nowMs: number,
): Promise<WebhookRow> {
  const kept = await db
    .selectFrom('webhook')
    .select('organisation_id')
    .where('id', '=', id)
    .executeTakeFirst();
  if (kept && kept.organisation_id !== viewer.organisationId) throw new NotFound('id', 'id: no such webhook');
  const last = await db
    .selectFrom('notice_event')
    .select(({ fn }) => fn.max('seq').as('seq'))
    .executeTakeFirst();
  await db
    .insertInto('webhook')
    .values({
      id,
      organisation_id: viewer.organisationId,
      ...body,
      told_seq: last?.seq ?? 0,
      created_ms: nowMs,
    })
    .onConflict((conflict) => conflict.column('id').doUpdateSet(body))
    .execute();
  return { id, url: body.url };
}

/** What still waits for it is refused when its turn comes, and the log says why. @throws NotFound */
export async function removeWebhook(db: Database, viewer: Viewer, id: string): Promise<void> {
  const { numDeletedRows } = await db
    .deleteFrom('webhook')
    .where('organisation_id', '=', viewer.organisationId)
    .where('id', '=', id)
    .executeTakeFirst();
  if (numDeletedRows === 0n) throw new NotFound('id', 'id: no such webhook');
}
