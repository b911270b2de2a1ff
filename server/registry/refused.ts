/**
 * What ingest set aside: payloads whole (as many of the newest as there is room for), and counts, which outlive the
 * payloads and fall only by what was read after all.
 */
import { sql } from 'kysely';
import type { Refused, SetAside } from '../../ingest/index.ts';
import type { RefusedSeen, RefusedTally } from '../contract/index.ts';
import type { Database } from '../db/database.ts';
import { NotFound, type Viewer } from './viewer.ts';

/**
 * Payloads kept; beyond, the oldest go and only their count stays. A week of 500 sensors is ten times as many messages,
 * but a profile that is wrong, or a clock, is found within a day.
 */
const keptPayloads = 100_000;
const keptBytes = 256_000_000;
/** The bytes are counted again after this many more. */
const countedEveryBytes = 16_000_000;

const tallyKey = (row: { organisation_id: string | null; gateway: string | null; reason: string }): string =>
  JSON.stringify([row.organisation_id ?? '', row.gateway ?? '', row.reason]);

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
    const key = tallyKey(row);
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

/** What was read after all is no longer set aside, nor counted as such. */
export async function takeOut(db: Database, ids: readonly number[]): Promise<void> {
  if (ids.length === 0) return;
  await db.transaction().execute(async (trx) => {
    const gone = await trx
      .deleteFrom('refused')
      .where('id', 'in', ids)
      .returning(['organisation_id', 'gateway', 'reason'])
      .execute();
    const byKey = new Map<string, number>();
    for (const row of gone) byKey.set(tallyKey(row), (byKey.get(tallyKey(row)) ?? 0) + 1);
    for (const [key, count] of byKey) {
      const [organisation, gateway, reason] = JSON.parse(key) as [string, string, string];
      await trx
        .updateTable('refused_tally')
        .set({ count: sql`count - ${count}` })
        .where('organisation_id', '=', organisation)
        .where('gateway', '=', gateway)
        .where('reason', '=', reason)
        .execute();
    }
    await trx.deleteFrom('refused_tally').where('count', '<=', 0).execute();
  });
}

/**
 * The viewer's own tallies, and those of strangers no organisation could be told for (a wrong password names none):
 * those are shown to whoever runs the service.
 */
export async function refusedTallies(db: Database, viewer: Viewer): Promise<RefusedTally[]> {
  const rows = await db
    .selectFrom('refused_tally')
    .leftJoin('gateway', 'gateway.id', 'refused_tally.gateway')
    .select(['gateway.name as gateway', 'reason', 'count', 'last_ms', 'sentence', 'seen_ms'])
    .where('refused_tally.organisation_id', 'in', [viewer.organisationId, ''])
    .orderBy('last_ms', 'desc')
    .execute();
  return rows.map((row) => ({
    gateway: row.gateway,
    reason: row.reason,
    count: row.count,
    lastMs: row.last_ms,
    sentence: row.sentence,
    seen: row.seen_ms !== null && row.seen_ms >= row.last_ms,
  }));
}

/** Somebody has looked at what was set aside of a gateway for a reason: only what comes later asks for a look again. */
export async function seeRefused(
  db: Database,
  viewer: Viewer,
  { gateway, reason, untilMs }: RefusedSeen,
): Promise<RefusedTally> {
  await db
    .updateTable('refused_tally')
    .set({ seen_ms: untilMs })
    .where('organisation_id', 'in', [viewer.organisationId, ''])
    .where('reason', '=', reason)
    .where((eb) => {
      const gateways = eb.selectFrom('gateway').select('id');
      return gateway === null
        ? eb('gateway', 'not in', gateways)
        : eb('gateway', 'in', gateways.where('name', '=', gateway));
    })
    .execute();
  const tally = (await refusedTallies(db, viewer)).find(
    (one) => one.gateway === gateway && one.reason === reason,
  );
  if (!tally) throw new NotFound('reason', 'reason: nothing is set aside for it');
  return tally;
}
