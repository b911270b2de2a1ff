/** By which gateways each sensor comes, and how old its readings are at best when they come: what its clock is like. */
import type { Gateway, Reading } from '../../ingest/index.ts';
import type { Database } from '../db/database.ts';
import type { Viewer } from './viewer.ts';

const dayMs = 86_400_000;
/** Sensors remembered between two writings; more are noted by the next message. */
const most = 20_000;

interface Heard {
  readonly organisation_id: string;
  readonly urn: string;
  readonly gateway_id: string;
  first_ms: number;
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
  /** Writes down what was heard since the last time. */
  flush(): Promise<void>;
}

export function hearingOf(db: Database): Hearing {
  const all = new Map<string, Heard>();
  const fresh = new Set<string>();

  function note(gateway: Gateway, urn: string, newestMs: number, receivedMs: number): void {
    const key = `${gateway.id} ${urn}`;
    const ageMs = receivedMs - newestMs;
    const known = all.get(key);
    fresh.add(key);
    if (!known) {
      if (all.size >= most) all.clear();
      all.set(key, {
        organisation_id: gateway.organisation,
        urn,
        gateway_id: gateway.id,
        first_ms: receivedMs,
        last_ms: receivedMs,
        least_age_ms: ageMs,
        age_since_ms: receivedMs,
        messages: 1,
      });
      return;
    }
    known.last_ms = receivedMs;
    known.messages += 1;
    // A clock that was set right shows within a day.
    if (receivedMs - known.age_since_ms > dayMs) {
      known.age_since_ms = receivedMs;
      known.least_age_ms = ageMs;
      known.messages = 1;
    } else known.least_age_ms = Math.min(known.least_age_ms, ageMs);
  }

  return {
    heard(gateway, readings, receivedMs) {
      const newest = new Map<string, number>();
      for (const { sensor, timeMs } of readings)
        newest.set(sensor, Math.max(newest.get(sensor) ?? timeMs, timeMs));
      for (const [urn, timeMs] of newest) note(gateway, urn, timeMs, receivedMs);
    },
    async flush() {
      const rows = [...fresh].flatMap((key) => {
        const known = all.get(key);
        if (!known) return [];
        const { messages, ...row } = known;
        return [messages < enoughMessages ? { ...row, least_age_ms: 0 } : row];
      });
      fresh.clear();
      for (let i = 0; i < rows.length; i += 500) {
        await db
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
