/** By which gateways each sensor comes, and how old its readings are at best when they come: what its clock is like. */
import { type Gateway, type Heard, heardIn, type Reading } from '../../ingest/index.ts';
import type { Database } from '../db/database.ts';
import type { Viewer } from './viewer.ts';

const dayMs = 86_400_000;
/** Sensors remembered between two writings; more are noted by the next message. */
const most = 20_000;

interface Known {
  readonly urn: string;
  readonly gateway_id: string;
  readonly first_ms: number;
  last_ms: number;
  /** Least age of its newest reading on arrival since `age_since_ms`; below zero where its clock is ahead. */
  least_age_ms: number;
  age_since_ms: number;
  /** Messages since then. */
  messages: number;
}

/** Fewer say nothing of a clock: what was held back comes in one. */
const enoughMessages = 6;

export interface Hearing {
  /** Called with every message that came live; keeps no one waiting. */
  heard(gateway: Gateway, readings: readonly Reading[], receivedMs: number): void;
  /** The same of many messages at once, from a worker that collects alone. */
  report(batch: readonly Heard[]): void;
  /** Writes down what was heard since the last time; of gateways that are gone, nothing. */
  flush(): Promise<void>;
}

export function hearingOf(db: Database, now: () => number): Hearing {
  const all = new Map<string, Known>();
  const fresh = new Set<string>();

  function note({ gateway, sensor, firstMs, messages, leastAgeMs, ...one }: Heard): void {
    const key = `${gateway} ${sensor}`;
    // The clock of a worker may stand wrong; heard in time to come is heard for ever.
    const lastMs = Math.min(one.lastMs, now());
    const known = all.get(key);
    fresh.add(key);
    if (!known) {
      if (all.size >= most) all.clear();
      all.set(key, {
        urn: sensor,
        gateway_id: gateway,
        first_ms: Math.min(firstMs, lastMs),
        last_ms: lastMs,
        least_age_ms: leastAgeMs,
        age_since_ms: Math.min(firstMs, lastMs),
        messages,
      });
      return;
    }
    known.last_ms = Math.max(known.last_ms, lastMs);
    known.messages += messages;
    // A clock that was set right shows within a day.
    if (lastMs - known.age_since_ms > dayMs) {
      known.age_since_ms = lastMs;
      known.least_age_ms = leastAgeMs;
      known.messages = messages;
    } else known.least_age_ms = Math.min(known.least_age_ms, leastAgeMs);
  }

  return {
    heard(gateway, readings, receivedMs) {
      for (const one of heardIn(gateway, readings, receivedMs)) note(one);
    },
    report(batch) {
      for (const one of batch) note(one);
    },
    async flush() {
      const heard = [...fresh].flatMap((key) => all.get(key) ?? []);
      fresh.clear();
      if (heard.length === 0) return;
      await db.transaction().execute(async (trx) => {
        const gateways = await trx.selectFrom('gateway').select(['id', 'organisation_id']).execute();
        const organisations = new Map(gateways.map(({ id, organisation_id }) => [id, organisation_id]));
        const rows = heard.flatMap(({ messages, ...row }) => {
          const organisation_id = organisations.get(row.gateway_id);
          if (organisation_id === undefined) return [];
          const least_age_ms = messages < enoughMessages ? 0 : row.least_age_ms;
          return [{ ...row, organisation_id, least_age_ms }];
        });
        for (let i = 0; i < rows.length; i += 500) {
          await trx
            .insertInto('heard_by')
            .values(rows.slice(i, i + 500))
            .onConflict((conflict) =>
              conflict.columns(['organisation_id', 'urn', 'gateway_id']).doUpdateSet((eb) => ({
                last_ms: eb.ref('excluded.last_ms'),
                least_age_ms: eb.ref('excluded.least_age_ms'),
                age_since_ms: eb.ref('excluded.age_since_ms'),
              })),
            )
            .execute();
        }
      });
    },
  };
}

export interface HeardBy {
  readonly gateways: readonly string[];
  readonly leastAgeMs: number;
}

/** Of each sensor, by its name: the gateways it came by since a time, and its best age by any of them. */
export async function heardBySince(
  db: Database,
  viewer: Viewer,
  sinceMs: number,
): Promise<Map<string, HeardBy>> {
  const rows = await db
    .selectFrom('heard_by')
    .innerJoin('gateway', 'gateway.id', 'heard_by.gateway_id')
    .select(['heard_by.urn as urn', 'gateway.name as gateway', 'least_age_ms'])
    .where('heard_by.organisation_id', '=', viewer.organisationId)
    .where('last_ms', '>=', sinceMs)
    .orderBy('gateway.name')
    .execute();
  const held = new Map<string, HeardBy>();
  for (const { urn, gateway, least_age_ms } of rows) {
    const known = held.get(urn);
    held.set(urn, {
      gateways: [...(known?.gateways ?? []), gateway],
      leastAgeMs: Math.min(known?.leastAgeMs ?? least_age_ms, least_age_ms),
    });
  }
  return held;
}
