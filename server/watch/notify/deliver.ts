/**
 * Sends what waits, of each way out one after the other. Before an attempt it is marked, after it the result is; what a crash cut off
 * is found marked at the next start and goes out once more under the same id, and the log says so.
 */
import type { Database } from '../../db/database.ts';
import type { Records } from '../../db/schema.ts';
import { logDelivery } from './outgoing.ts';

export type Outcome =
  | { readonly kind: 'sent'; readonly says: string }
  /** Worth trying again. */
  | { readonly kind: 'failed'; readonly says: string }
  /** The other side will never take it: a bounced address, a refused target. */
  | { readonly kind: 'refused'; readonly says: string };

export interface Courier {
  readonly channel: 'email' | 'webhook';
  /** Must not throw; an adapter knows what its faults mean. */
  send(message: Records['outgoing'], nowMs: number): Promise<Outcome>;
  stop(): Promise<void>;
}

const minute = 60_000;
/** Growing pauses, then every six hours; after three days a message is called stuck and shown as such. */
const pausesMs = [1, 5, 15, 60, 180, 360].map((minutes) => minutes * minute);
const longestMs = 3 * 24 * 60 * minute;
const atOnce = 50;

export const pauseAfter = (attempts: number): number =>
  pausesMs[Math.min(attempts, pausesMs.length) - 1] ?? 0;

/** What was being sent when the process ended. Call once, before anything is sent. */
export async function takeUpCutOff(db: Database, nowMs: number): Promise<number> {
  const rows = await db.selectFrom('outgoing').selectAll().where('state', '=', 'sending').execute();
  for (const row of rows) {
    await db.transaction().execute(async (trx) => {
      await trx
        .updateTable('outgoing')
        .set({ state: 'waiting', next_ms: nowMs })
        .where('id', '=', row.id)
        .execute();
      const sentence = `its sending was cut off; it may have arrived, and goes out once more under the same id`;
      await logDelivery(trx, ofRow(row), 'cut off', sentence, nowMs);
    });
  }
  return rows.length;
}

const ofRow = (row: Records['outgoing']) => ({
  organisationId: row.organisation_id,
  outgoingId: row.id,
  personId: row.person_id,
});

/**
 * Each way out for itself: a webhook that hangs holds neither the mail nor another webhook. Where an attempt fails, the
 * others of that way wait for the next time without being tried: a server that is away is asked once, not fifty times.
 * @returns how many attempts were made.
 */
export async function deliver(
  db: Database,
  couriers: readonly Courier[],
  now: () => number,
): Promise<number> {
  const ways = await db
    .selectFrom('outgoing')
    .select(['channel', 'webhook_id'])
    .distinct()
    .where('state', '=', 'waiting')
    .where('next_ms', '<=', now())
    .execute();
  const attempts = await Promise.all(ways.map((way) => deliverBy(db, couriers, way, now)));
  return attempts.reduce((sum, one) => sum + one, 0);
}

async function deliverBy(
  db: Database,
  couriers: readonly Courier[],
  way: Pick<Records['outgoing'], 'channel' | 'webhook_id'>,
  now: () => number,
): Promise<number> {
  const due = await db
    .selectFrom('outgoing')
    .selectAll()
    .where('state', '=', 'waiting')
    .where('next_ms', '<=', now())
    .where('channel', '=', way.channel)
    .where('webhook_id', way.webhook_id === null ? 'is' : '=', way.webhook_id)
    .orderBy('made_ms')
    .limit(atOnce)
    .execute();
  const courier = couriers.find((one) => one.channel === way.channel);
  let attempts = 0;
  for (const row of due) {
    if (!courier) {
      await holdBack(db, row, now());
      continue;
    }
    attempts += 1;
    const outcome = await attempt(db, courier, row, now);
    if (outcome.kind === 'failed') break;
  }
  return attempts;
}

/** No way out is set up for this channel: it waits, and says for what. */
async function holdBack(db: Database, row: Records['outgoing'], nowMs: number): Promise<void> {
  const says = `no way out is set up for ${row.channel}`;
  await db.transaction().execute(async (trx) => {
    await trx
      .updateTable('outgoing')
      .set({ next_ms: nowMs + 60 * minute, last_error: says })
      .where('id', '=', row.id)
      .execute();
    if (row.last_error !== says) await logDelivery(trx, ofRow(row), 'waits', says, nowMs);
  });
}

async function attempt(
  db: Database,
  courier: Courier,
  row: Records['outgoing'],
  now: () => number,
): Promise<Outcome> {
  const attempts = row.attempts + 1;
  await db.transaction().execute(async (trx) => {
    await trx.updateTable('outgoing').set({ state: 'sending', attempts }).where('id', '=', row.id).execute();
    await logDelivery(trx, ofRow(row), 'attempt', `attempt ${attempts}`, now());
  });
  const outcome = await courier.send({ ...row, attempts }, now());
  const nowMs = now();
  const change =
    outcome.kind === 'sent'
      ? { state: 'sent', sent_ms: nowMs, last_error: null }
      : outcome.kind === 'refused'
        ? { state: 'refused', last_error: outcome.says }
        : nowMs - row.made_ms > longestMs
          ? { state: 'stuck', last_error: outcome.says }
          : { state: 'waiting', next_ms: nowMs + pauseAfter(attempts), last_error: outcome.says };
  await db.transaction().execute(async (trx) => {
    await trx.updateTable('outgoing').set(change).where('id', '=', row.id).execute();
    const sentence = outcome.kind === 'sent' ? `sent because ${row.because} (${outcome.says})` : outcome.says;
    await logDelivery(trx, ofRow(row), change.state === 'stuck' ? 'stuck' : outcome.kind, sentence, nowMs);
  });
  return outcome;
}
