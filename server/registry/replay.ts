/** Reads what was set aside once more, as its gateway is read now, and stores what has become readable. */

import type { ExpressionBuilder } from 'kysely';
import {
  decodeMessage,
  type Gateway,
  type Pipeline,
  type Precision,
  precisionNamed,
  type Reading,
} from '../../ingest/index.ts';
import type { Database } from '../db/database.ts';
import type { Records } from '../db/schema.ts';
import { takeOut } from './refused.ts';

export interface Replayed {
  /** Messages of which nothing is refused any more. */
  readonly read: number;
  /** Messages that stay set aside. */
  readonly left: number;
  readonly stored: number;
  readonly duplicates: number;
  readonly conflicts: number;
  /** Why the first of those stays. */
  readonly sentence: string | null;
}

const rowsAtOnce = 200;
const nothingOfIt = 'Nothing of it is a quantity that is kept here, or one that the profile names.';

/** Line protocol is told by the address it came by, with its precision. */
export function linesOf(topic: string): Precision | undefined {
  const [, precision] = /^\/(?:api\/v2\/)?write\?precision=(\w*)$/.exec(topic) ?? [];
  return precision === undefined ? undefined : (precisionNamed(precision) ?? undefined);
}

/**
 * Whether a message that is set aside is a gateway's own; what came for its name before it was added is, too. Attempts
 * such as a last will carry nothing, and what a broker had retained is no reading: neither can be read again.
 */
export const isSetAsideOf =
  ({ id, name, organisation }: Pick<Gateway, 'id' | 'name' | 'organisation'>) =>
  (eb: ExpressionBuilder<Records, 'refused'>) => {
    const own = `readings/${name}`;
    return eb.and([
      eb(eb.fn<number>('length', ['payload']), '>', 0),
      eb('reason', '<>', 'retain'),
      eb.or([
        eb.and([eb('organisation_id', '=', organisation), eb('gateway', '=', id)]),
        eb.and([
          eb('reason', '=', 'unknown-gateway'),
          // Not LIKE: a name may hold its wildcards.
          eb.or([
            eb('topic', '=', own),
            eb(eb.fn('substr', ['topic', eb.val(1), eb.val(own.length + 1)]), '=', `${own}/`),
          ]),
        ]),
      ]),
    ]);
  };

async function keptAlone<One extends { readonly readings: readonly Reading[] }>(
  messages: readonly One[],
  pipeline: Pipeline,
  nowMs: number,
): Promise<One[]> {
  const kept: One[] = [];
  for (const one of messages) {
    const { refused } = await pipeline.acceptReadings(one.readings, nowMs);
    if (refused.length === 0) kept.push(one);
  }
  return kept;
}

/**
 * A message counts as of the time it was received, but its times may not be ahead of now only: the clock it was first
 * judged by may have stood wrong. What came for the gateway's name before it was added is its own.
 * Done twice, it stores nothing twice.
 */
export async function replayRefused(
  db: Database,
  gateway: Gateway,
  pipeline: Pipeline,
  now: () => number = Date.now,
): Promise<Replayed> {
  const counts = { read: 0, left: 0, stored: 0, duplicates: 0, conflicts: 0 };
  let sentence: string | null = null;
  const againMs = now();
  for (let after = 0; ; ) {
    const rows = await db
      .selectFrom('refused')
      .select(['id', 'topic', 'payload', 'received_ms'])
      .where('id', '>', after)
      .where(isSetAsideOf(gateway))
      .orderBy('id')
      .limit(rowsAtOnce)
      .execute();
    const readable: { readonly id: number; readonly readings: readonly Reading[] }[] = [];
    for (const row of rows) {
      after = row.id;
      const { readings, refused } = decodeMessage({
        gateway,
        topic: row.topic,
        payload: row.payload,
        receivedMs: row.received_ms,
        againMs,
        lines: linesOf(row.topic),
      });
      // Without a refusal and without a reading it would vanish: a quantity may be written otherwise in the profile.
      const whyNot = refused[0]?.sentence ?? (readings.length === 0 ? nothingOfIt : null);
      if (whyNot !== null) {
        counts.left += 1;
        sentence ??= whyNot;
      } else readable.push({ id: row.id, readings });
    }
    if (readable.length > 0) {
      const outcome = await pipeline.acceptReadings(
        readable.flatMap(({ readings }) => readings),
        againMs,
      );
      counts.stored += outcome.stored;
      counts.duplicates += outcome.duplicates;
      counts.conflicts += outcome.conflicts;
      const [refusedNow] = outcome.refused;
      // The store will not keep some of them: whose they are shows when each is asked for by itself.
      const kept = refusedNow ? await keptAlone(readable, pipeline, againMs) : readable;
      counts.read += kept.length;
      counts.left += readable.length - kept.length;
      if (refusedNow) sentence ??= refusedNow.sentence;
      await takeOut(
        db,
        kept.map(({ id }) => id),
      );
    }
    if (rows.length < rowsAtOnce) return { ...counts, sentence };
  }
}
