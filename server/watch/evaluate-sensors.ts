/** Asks the rules about sensors. One that stands nowhere is nobody's worry: what was open of it is over. */
import * as z from 'zod/mini';
import type { TimeSeries } from '../../ingest/index.ts';
import type { Placement, RuleName } from '../contract/index.ts';
import type { Database } from '../db/database.ts';
import { placeOf } from '../registry/instruments.ts';
import type { SensorRow } from '../registry/sensors.ts';
import { seenBy, type Viewer } from '../registry/viewer.ts';
import { type Condition, never, stepCondition } from './condition.ts';
import { isWatched } from './fold.ts';
import { applyDecisions, type Decided, openEpisodes } from './notices.ts';
import type { RegistryFacts } from './registry-facts.ts';
import type { Decision } from './rules/rule.ts';
import { type SensorSituation, sensorRules } from './rules/sensor-rules.ts';
import { median, type SensorAir, sensorAir, spotKey } from './sensor-air.ts';

const condition = z.object({
  holds: z.boolean(),
  sinceMs: z.nullable(z.number()),
  quietMs: z.nullable(z.number()),
});
const kept = z.object({
  conditions: z.record(z.string(), condition),
  ownRange: z.nullable(z.object({ humidityPct: z.number(), temperatureC: z.number(), readings: z.number() })),
  weekPct: z.nullable(z.number()),
  lookedMs: z.number(),
});
type Kept = z.infer<typeof kept>;
const fresh: Kept = { conditions: {}, ownRange: null, weekPct: null, lookedMs: 0 };

/** How often a sensor's last day and week are looked at; each in its own hour. */
const lookEveryMs = 6 * 3_600_000;
const atOnce = 200;

export const placementNow = (
  placements: readonly Placement[],
  sensorId: string,
  nowMs: number,
): Placement | null =>
  placements.find(
    (one) =>
      one.sensorId === sensorId && one.fromMs <= nowMs && (one.untilMs === null || one.untilMs > nowMs),
  ) ?? null;

interface Spot {
  readonly venueId: string;
  readonly timeZone: string;
  readonly name: string;
}

/** The venue of a placement, and how a person calls the spot. */
function spotOf(placement: Placement, facts: RegistryFacts): Spot | null {
  const instrument = placement.instrumentId ? facts.byId.get(placement.instrumentId) : undefined;
  const room = placement.roomId ? facts.rooms.get(placement.roomId) : undefined;
  const venueId = instrument?.venueId ?? room?.venueId ?? placement.venueId;
  const venue = venueId ? facts.venues.get(venueId) : undefined;
  if (!venue) return null;
  const name = instrument ? placeOf(instrument) : `${venue.name} · ${room?.name ?? 'outdoors'}`;
  return { venueId: venue.id, timeZone: venue.timeZone, name };
}

/** Conditions of sensors by id, held between looks; empty: not read yet. */
export type SensorsKnown = Map<string, Kept>;

export interface SensorDeps {
  readonly db: Database;
  readonly store: TimeSeries;
  readonly facts: RegistryFacts;
  readonly known: SensorsKnown;
}

/** @returns whether any notice began, ended or changed. */
export async function evaluateSensors(
  deps: SensorDeps,
  viewer: Viewer,
  sensors: readonly SensorRow[],
  nowMs: number,
): Promise<boolean> {
  const { db, store, facts } = deps;
  const before = deps.known;
  if (before.size === 0) for (const [id, one] of await loadConditions(db, viewer)) before.set(id, one);
  const placedNow = new Map<string, Placement>();
  for (const one of facts.placements) {
    if (one.fromMs <= nowMs && (one.untilMs === null || one.untilMs > nowMs))
      placedNow.set(one.sensorId, one);
  }
  const air = new Map<string, SensorAir & { lookedMs: number }>();
  for (const sensor of sensors) {
    const known = before.get(sensor.id) ?? fresh;
    const due = nowMs - known.lookedMs >= lookEveryMs && placedNow.has(sensor.id);
    // A silent sensor is silent; how still it stands says nothing then.
    const looked = due
      ? {
          ...(await sensorAir(store, viewer, sensor, facts.settingsOf(null)['stuck hours'], nowMs)),
          lookedMs: nowMs,
        }
      : known;
    air.set(sensor.id, looked);
  }
  const byVenue = new Map<string, string[]>();
  const bySpot = new Map<string, Placement[]>();
  const spots = new Map<string, Spot>();
  for (const [id, placement] of placedNow) {
    const spot = spotOf(placement, facts);
    if (!spot) continue;
    spots.set(id, spot);
    push(byVenue, spot.venueId, id);
    const key = spotKey(placement);
    if (key !== null) push(bySpot, key, placement);
  }
  const ranges = new Map<string, number | null>();
  for (const [venueId, ids] of byVenue) {
    ranges.set(
      venueId,
      ids.length < 2 ? null : median(ids.flatMap((id) => air.get(id)?.ownRange?.humidityPct ?? [])),
    );
  }
  let changed = false;
  for (let i = 0; i < sensors.length; i += atOnce) {
    const some = sensors.slice(i, i + atOnce);
    const judged = some.map((sensor) => {
      const known = before.get(sensor.id) ?? fresh;
      const spot = spots.get(sensor.id);
      const placement = placedNow.get(sensor.id);
      const decided =
        spot && placement && sensor.last_ms !== null
          ? decide(situation(sensor, spot, placement), known)
          : { conditions: {}, decisions: standsNowhere };
      const subject = {
        id: sensor.id,
        instrumentId: placement?.instrumentId ?? null,
        sensorId: sensor.id,
        venueId: spot?.venueId ?? null,
        place: spot?.name ?? `sensor ${sensor.urn}`,
      };
      return { sensor, known, subject, ...decided };
    });
    changed = (await write(judged)) || changed;
    await new Promise((resolve) => setImmediate(resolve));
  }
  return changed;

  function situation(sensor: SensorRow, spot: Spot, placement: Placement): SensorSituation {
    const own = air.get(sensor.id);
    const beside = (bySpot.get(spotKey(placement) ?? '') ?? []).filter((one) => one.sensorId !== sensor.id);
    const middle = median(beside.flatMap((one) => air.get(one.sensorId)?.weekPct ?? []));
    // Of two that differ, the one that came later is asked first.
    const older = beside.some((one) => one.fromMs <= placement.fromMs);
    const weekPct = own?.weekPct ?? null;
    return {
      nowMs,
      timeZone: spot.timeZone,
      settings: facts.settingsOf(spot.venueId),
      urn: sensor.urn,
      lastMs: sensor.last_ms ?? nowMs,
      intervalMs: sensor.interval_ms,
      batteryPct: sensor.battery_pct,
      ownRange: own?.ownRange ?? null,
      othersRangePct: ranges.get(spot.venueId) ?? null,
      offPct: weekPct !== null && middle !== null && older ? weekPct - middle : null,
    };
  }

  function decide(
    at: SensorSituation,
    known: Kept,
  ): { conditions: Kept['conditions']; decisions: Decision[] } {
    const conditions: Record<string, Condition> = {};
    const decisions = sensorRules.map((rule): Decision => {
      const held = known.conditions[rule.name] ?? never;
      const watched = isWatched(rule.name, at.settings);
      const next = watched ? stepCondition(held, rule.measure(at), nowMs, nowMs, rule.durations) : never;
      if (next !== never) conditions[rule.name] = next;
      const sinceMs = rule.name === 'sensor-silent' ? at.lastMs : next.sinceMs;
      return {
        rule: rule.name,
        holds: next.holds,
        sinceMs,
        frozen: null,
        severity: rule.severity,
        endedBecause: watched ? 'it speaks as it should again' : 'it is no longer watched for',
        words: () => rule.say(at),
      };
    });
    return { conditions, decisions };
  }

  async function write(
    judged: readonly (Decided & { sensor: SensorRow; known: Kept; conditions: Kept['conditions'] })[],
  ): Promise<boolean> {
    const news = new Map<string, Kept>();
    const changed = await db.transaction().execute(async (trx) => {
      const ids = judged.map((one) => one.sensor.id);
      const rows = judged.flatMap(({ sensor, known, conditions }) => {
        const looked = air.get(sensor.id) ?? fresh;
        const { ownRange, weekPct, lookedMs } = looked;
        const now: Kept = { conditions, ownRange, weekPct, lookedMs };
        const body = JSON.stringify(now);
        if (body === JSON.stringify(known)) return [];
        news.set(sensor.id, now);
        return [{ sensor_id: sensor.id, organisation_id: viewer.organisationId, body }];
      });
      if (rows.length > 0) {
        await trx
          .insertInto('sensor_condition')
          .values(rows)
          .onConflict((conflict) =>
            conflict.column('sensor_id').doUpdateSet((eb) => ({ body: eb.ref('excluded.body') })),
          )
          .execute();
      }
      const open = await openEpisodes(trx, viewer, ids);
      return (await applyDecisions(trx, viewer, judged, open, nowMs)).size > 0;
    });
    for (const [id, now] of news) deps.known.set(id, now);
    return changed;
  }
}

const push = <Value>(map: Map<string, Value[]>, key: string, value: Value): void => {
  const there = map.get(key);
  if (there) there.push(value);
  else map.set(key, [value]);
};

/** It stands nowhere now: whatever was open of it is over. */
const standsNowhere: Decision[] = sensorRules.map((rule) => ({
  rule: rule.name,
  holds: false,
  sinceMs: null,
  frozen: null,
  severity: 0,
  endedBecause: 'the sensor no longer stands there',
  words: () => {
    throw new Error('nothing is said of a sensor that stands nowhere');
  },
}));

async function loadConditions(db: Database, viewer: Viewer): Promise<Map<string, Kept>> {
  const rows = await db
    .selectFrom('sensor_condition')
    .$call(seenBy(viewer, 'sensor_condition'))
    .select(['sensor_id', 'body'])
    .execute();
  return new Map(
    rows.map((row) => {
      const parsed = kept.safeParse(JSON.parse(row.body));
      return [row.sensor_id, parsed.success ? parsed.data : fresh];
    }),
  );
}

/** Sensors of which nothing is to be made, by id, each with why. */
export async function distrustedSensors(db: Database, viewer: Viewer): Promise<Map<string, string>> {
  const rules: RuleName[] = ['sensor-stuck', 'sensor-off'];
  const rows = await db
    .selectFrom('notice')
    .$call(seenBy(viewer, 'notice'))
    .select(['sensor_id', 'rule', 'place'])
    .where('rule', 'in', rules)
    .where('state', '<>', 'over')
    .execute();
  return new Map(
    rows.flatMap(({ sensor_id, rule, place }) =>
      sensor_id
        ? [
            [
              sensor_id,
              `its sensor (${place}) ${rule === 'sensor-stuck' ? 'seems stuck' : 'stands apart from its neighbours'}`,
            ],
          ]
        : [],
    ),
  );
}
