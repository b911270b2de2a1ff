/** What ingest set aside: payloads whole (as many of the newest as there is room for), counts for ever. */
import { sql } from 'kysely';
import type { Refused, SetAside } from '../../ingest/index.ts';
import type { RefusedTally } from '../contract/index.ts';
import type { Database } from '../db/database.ts';
import type { Viewer } from './viewer.ts';

/**
 * Payloads kept; beyond, the oldest go and only their count stays. A week of 500 sensors is ten times as many messages,
 * but a profile that is wrong, or a clock, is found within a day.
 */
const keptPayloads = 100_000;
const keptBytes = 256_000_000;
/** The bytes are counted again after this many more. */
const countedEveryBytes = 16_000_000;

function tallies(batch: readonly SetAside[]) {
  const byKey = new Map<
    string,
    {
      organisation_id: string;
      gateway: string;
      reason: string;
      count: number;
      last_ms: number;
      sentence: string;
    }
  >();
  for (const one of batch) {
    const row = {
      organisation_id: one.organisation ?? '',
      gateway: one.gateway ?? '',
      reason: one.reason,
      last_ms: one.receivedMs,
      sentence: one.sentence,
    };
    const key = JSON.stringify([row.organisation_id, row.gateway, row.reason]);
    byKey.set(key, { ...row, count: (byKey.get(key)?.count ?? 0) + 1 });
  }
  return [...byKey.values()];
}

export function refusedOf(db: Database): Refused {
  let bytesSinceCount = 0;
  return {
    async setAside(batch) {
      if (batch.length === 0) return;
      bytesSinceCount += batch.reduce((sum, { payload }) => sum + payload.length, 0);
      await db.transaction().execute(async (trx) => {
        for (const row of tallies(batch)) {
          await trx
            .insertInto('refused_tally')
            .values(row)
            .onConflict((conflict) =>
              conflict.columns(['organisation_id', 'gateway', 'reason']).doUpdateSet({
                count: sql`refused_tally.count + excluded.count`,
                last_ms: sql`excluded.last_ms`,
                sentence: sql`excluded.sentence`,
              }),
            )
            .execute();
        }
        // SQLite allows some 32,000 bound values to a statement.
        for (let from = 0; from < batch.length; from += 500) {
          await trx
            .insertInto('refused')
            .values(
              batch.slice(from, from + 500).map((one) => ({
                organisation_id: one.organisation,
                gateway: one.gateway,
                received_ms: one.receivedMs,
                topic: one.topic,
                reason: one.reason,
                sentence: one.sentence,
                payload: Buffer.from(one.payload),
              })),
            )
            .execute();
        }
        await trx
          .deleteFrom('refused')
          .where('id', '<=', (eb) =>
            eb.selectFrom('refused').select(sql<number>`max(id) - ${keptPayloads}`.as('oldest')),
          )
          .execute();
        if (bytesSinceCount < countedEveryBytes) return;
        bytesSinceCount = 0;
        await sql`delete from refused where id <= (select max(id) from
          (select id, sum(length(payload)) over (order by id desc) as bytes from refused)
          where bytes > ${keptBytes})`.execute(trx);
      });
    },
  };
}

/**
 * The viewer's own tallies, and those of strangers no organisation could be told for (a wrong password names none):
 * those are shown to whoever runs the service.
 */
export async function refusedTallies(db: Database, viewer: Viewer): Promise<RefusedTally[]> {
  const rows = await db
    .selectFrom('refused_tally')
    .leftJoin('gateway', 'gateway.id', 'refused_tally.gateway')
    .select(['gateway.name as gateway', 'reason', 'count', 'last_ms', 'sentence'])
    .where('refused_tally.organisation_id', 'in', [viewer.organisationId, ''])
    .orderBy('last_ms', 'desc')
    .execute();
  return rows.map((row) => ({
    gateway: row.gateway,
    reason: row.reason,
    count: row.count,
    lastMs: row.last_ms,
    sentence: row.sentence,
  }));
}
