/** Reads what was set aside once more, as its gateway is read now, and stores what has become readable. */
import {
  decodeMessage,
  type Gateway,
  type Pipeline,
  type Precision,
  precisionNamed,
} from '../../ingest/index.ts';
import type { Database } from '../db/database.ts';

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

/** Line protocol is told by the address it came by, with its precision. */
export function linesOf(topic: string): Precision | undefined {
  const [, precision] = /^\/(?:api\/v2\/)?write\?precision=(\w*)$/.exec(topic) ?? [];
  return precision === undefined ? undefined : (precisionNamed(precision) ?? undefined);
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
  const own = `readings/${gateway.name}`;
  for (let after = 0; ; ) {
    const rows = await db
      .selectFrom('refused')
      .select(['id', 'topic', 'payload', 'received_ms'])
      .where('id', '>', after)
      .where((eb) =>
        eb.or([
          eb.and([eb('organisation_id', '=', gateway.organisation), eb('gateway', '=', gateway.id)]),
          eb.and([
            eb('reason', '=', 'unknown-gateway'),
            // Not LIKE: a name may hold its wildcards.
            eb.or([
              eb('topic', '=', own),
              eb(eb.fn('substr', ['topic', eb.val(1), eb.val(own.length + 1)]), '=', `${own}/`),
            ]),
          ]),
        ]),
      )
      .orderBy('id')
      .limit(rowsAtOnce)
      .execute();
    for (const row of rows) {
      after = row.id;
      // Attempts such as a wrong password carry nothing.
      if (row.payload.length === 0) continue;
      const message = {
        gateway,
        topic: row.topic,
        payload: row.payload,
        receivedMs: row.received_ms,
        againMs,
      };
      const { readings, refused } = decodeMessage({ ...message, lines: linesOf(row.topic) });
      const [first] = refused;
      if (first) {
        counts.left += 1;
        sentence ??= first.sentence;
        continue;
      }
      const outcome = await pipeline.acceptReadings(readings, againMs);
      counts.read += 1;
      counts.stored += outcome.stored;
      counts.duplicates += outcome.duplicates;
      counts.conflicts += outcome.conflicts;
      await db.deleteFrom('refused').where('id', '=', row.id).execute();
    }
    if (rows.length < rowsAtOnce) return { ...counts, sentence };
  }
}
