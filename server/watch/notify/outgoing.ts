/** Messages on their way out, and the log of why each was sent or not. Written in the transaction of whoever made them. */
import { randomUUID } from 'node:crypto';
import * as z from 'zod/mini';
import type { Database } from '../../db/database.ts';

/** What an e-mail consists of, made once: a second attempt sends the very same. */
export const emailBody = z.object({
  subject: z.string(),
  text: z.string(),
  html: z.string(),
  fromName: z.nullable(z.string()),
  replyTo: z.nullable(z.string()),
  unsubscribe: z.nullable(z.string()),
});
export type EmailBody = z.infer<typeof emailBody>;

export interface NewMessage {
  readonly organisationId: string;
  readonly channel: 'email' | 'webhook';
  readonly kind: string;
  readonly personId?: string;
  readonly webhookId?: string;
  readonly instrumentId?: string;
  readonly address: string;
  readonly because: string;
  readonly body: string;
}

export async function putOutgoing(db: Database, message: NewMessage, nowMs: number): Promise<string> {
  const id = randomUUID();
  await db
    .insertInto('outgoing')
    .values({
      id,
      organisation_id: message.organisationId,
      channel: message.channel,
      kind: message.kind,
      person_id: message.personId ?? null,
      webhook_id: message.webhookId ?? null,
      instrument_id: message.instrumentId ?? null,
      address: message.address,
      because: message.because,
      body: message.body,
      made_ms: nowMs,
      state: 'waiting',
      attempts: 0,
      next_ms: nowMs,
      last_error: null,
      sent_ms: null,
    })
    .execute();
  await logDelivery(
    db,
    { ...message, outgoingId: id },
    'made',
    `to be sent because ${message.because}`,
    nowMs,
  );
  return id;
}

export async function logDelivery(
  db: Database,
  of: { readonly organisationId: string; readonly outgoingId?: string; readonly personId?: string | null },
  kind: string,
  sentence: string,
  nowMs: number,
): Promise<void> {
  await db
    .insertInto('delivery')
    .values({
      organisation_id: of.organisationId,
      outgoing_id: of.outgoingId ?? null,
      person_id: of.personId ?? null,
      at_ms: nowMs,
      kind,
      sentence,
    })
    .execute();
}
