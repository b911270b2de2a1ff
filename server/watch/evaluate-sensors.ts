/** Asks the rules about sensors. One that stands nowhere is nobody's worry: what was open of it is over. */
import { setImmediate as breathe } from 'node:timers/promises';
import * as z from 'zod/mini';
import type { TimeSeries } from '../../ingest/index.ts';
import type { Placement, RuleName } from '../contract/index.ts';
import type { Database } from '../db/database.ts';
import { slotOfDayMs } from '../drift/forecast-times.ts';
import type { SensorRow } from '../registry/sensors.ts';
import { seenBy, type Viewer } from '../registry/viewer.ts';
import { type Condition, never, stepCondition } from './condition.ts';
import { isWatched } from './fold.ts';
import { applyDecisions, type Decided, openEpisodes } from './notices.ts';
import type { RegistryFacts } from './registry-facts.ts';
import type { Decision } from './rules/rule.ts';
import { type SensorSituation, sensorRules } from './rules/sensor-rules.ts';
import { median, type SensorAir, sensorAir, spotKey } from './sensor-air.ts';
import { placesAt, type Spot } from './sensor-places.ts';

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

/** How often a sensor's last day and week are looked at; each at a time of its own. */
const lookEveryMs = 12 * 3_600_000;
const lookTurn = (id: string, timeMs: number): number => Math.floor((timeMs + slotOfDayMs(id)) / lookEveryMs);
/** Looks to a transaction. */
const atOnce = 1000;

type Looked = SensorAir & { readonly lookedMs: number };

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
  const { placed, spots, inVenue, atSpot } = placesAt(facts, nowMs);
  const air = new Map<string, Looked>();
  const stuckHours = facts.settingsOf(null)['stuck hours'];
  for (const sensor of sensors) {
    const { lookedMs } = before.get(sensor.id) ?? fresh;
    // A silent sensor is silent; how still it stands says nothing then.
    if (!placed.has(sensor.id) || lookTurn(sensor.id, nowMs) === lookTurn(sensor.id, lookedMs)) continue;
    air.set(sensor.id, { ...(await sensorAir(store, viewer, sensor, stuckHours, nowMs)), lookedMs: nowMs });
  }
  const airOf = (id: string): Looked => air.get(id) ?? before.get(id) ?? fresh;
  const ranges = new Map<string, number | null>();
  function rangeIn(venueId: string): number | null {
    let range = ranges.get(venueId);
    if (range === undefined) {
      const ids = inVenue.get(venueId) ?? [];
      range = ids.length < 2 ? null : median(ids.flatMap((id) => airOf(id).ownRange?.humidityPct ?? []));
      ranges.set(venueId, range);
    }
    return range;
  }
  const open = await openEpisodes(
    db,
    viewer,
    sensors.map((sensor) => sensor.id),
  );
  let changed = false;
  let news: { id: string; kept: Kept }[] = [];
  let decided: Decided[] = [];
  for (const [i, sensor] of sensors.entries()) {
    judge(sensor);
    if (news.length >= atOnce || decided.length >= atOnce) changed = (await write()) || changed;
    if (i % atOnce === 0) await breathe();
  }
  return (await write()) || changed;

  function judge(sensor: SensorRow): void {
    const known = before.get(sensor.id) ?? fresh;
    const spot = spots.get(sensor.id);
    const placement = placed.get(sensor.id);
    const at = spot && placement && sensor.last_ms !== null ? situation(sensor, spot, placement) : null;
    const conditions = at ? conditionsOf(at, known) : without(known.conditions);
    const looked = airOf(sensor.id);
    if (looked !== known || conditions !== known.conditions) {
      const { ownRange, weekPct, lookedMs } = looked;
      news.push({ id: sensor.id, kept: { conditions, ownRange, weekPct, lookedMs } });
    }
    // Where nothing holds and nothing is open there is nothing to decide.
    if (!open.has(sensor.id) && !Object.values(conditions).some((one) => one.holds)) return;
    const subject = {
      id: sensor.id,
      instrumentId: placement?.instrumentId ?? null,
      sensorId: sensor.id,
      venueId: spot?.venueId ?? null,
      place: spot?.name ?? `sensor ${sensor.urn}`,
    };
    decided.push({ subject, decisions: at ? decisionsOf(at, conditions) : standsNowhere });
  }

  async function write(): Promise<boolean> {
    if (news.length === 0 && decided.length === 0) return false;
    const [keeping, deciding] = [news, decided];
    [news, decided] = [[], []];
    const told = await db.transaction().execute(async (trx) => {
      await saveConditions(trx, viewer, keeping);
      return applyDecisions(trx, viewer, deciding, open, nowMs);
    });
    for (const { id, kept } of keeping) before.set(id, kept);
    return told.size > 0;
  }

  function situation(sensor: SensorRow, spot: Spot, placement: Placement): SensorSituation {
    const own = airOf(sensor.id);
    return {
      nowMs,
      timeZone: spot.timeZone,
      settings: facts.settingsOf(spot.venueId),
      urn: sensor.urn,
      lastMs: sensor.last_ms ?? nowMs,
      intervalMs: sensor.interval_ms,
      batteryPct: sensor.battery_pct,
      ownRange: own.ownRange,
      othersRangePct: rangeIn(spot.venueId),
      offPct: own.weekPct === null ? null : offPct(own.weekPct, placement),
    };
  }

  /** Apart from those beside it; null where none of them stood there before: of two that differ, the later is asked. */
  function offPct(weekPct: number, placement: Placement): number | null {
    const here = atSpot.get(spotKey(placement) ?? '') ?? [];
    if (here.length < 2) return null;
    const beside = here.filter((one) => one.sensorId !== placement.sensorId);
    const middle = median(beside.flatMap((one) => airOf(one.sensorId).weekPct ?? []));
    const older = beside.some((one) => one.fromMs <= placement.fromMs);
    return middle !== null && older ? weekPct - middle : null;
  }
}

/** The same object where there was none. */
const without = (conditions: Kept['conditions']): Kept['conditions'] =>
  Object.keys(conditions).length === 0 ? conditions : {};

/** The same object where nothing changed. */
function conditionsOf(at: SensorSituation, { conditions }: Kept): Kept['conditions'] {
  let after: Record<string, Condition> | null = null;
  for (const rule of sensorRules) {
    const held = conditions[rule.name] ?? never;
    const next = isWatched(rule.name, at.settings)
      ? stepCondition(held, rule.measure(at), at.nowMs, at.nowMs, rule.durations)
      : never;
    if (next === held) continue;
    after ??= { ...conditions };
    if (next === never) delete after[rule.name];
    else after[rule.name] = next;
  }
  return after ?? conditions;
}

const decisionsOf = (at: SensorSituation, conditions: Kept['conditions']): Decision[] =>
  sensorRules.map((rule): Decision => {
    const { holds, sinceMs } = conditions[rule.name] ?? never;
    return {
      rule: rule.name,
      holds,
      sinceMs: rule.name === 'sensor-silent' ? at.lastMs : sinceMs,
      frozen: null,
      severity: rule.severity,
      endedBecause: isWatched(rule.name, at.settings)
        ? 'it speaks as it should again'
        : 'it is no longer watched for',
      words: () => rule.say(at),
    };
  });

/** Call inside a transaction. */
async function saveConditions(
  db: Database,
  viewer: Viewer,
  news: readonly { readonly id: string; readonly kept: Kept }[],
): Promise<void> {
  if (news.length === 0) return;
  await db
    .insertInto('sensor_condition')
    .values(
      news.map(({ id, kept }) => ({
        sensor_id: id,
        organisation_id: viewer.organisationId,
        body: JSON.stringify(kept),
      })),
    )
    .onConflict((conflict) =>
      conflict.column('sensor_id').doUpdateSet((eb) => ({ body: eb.ref('excluded.body') })),
    )
    .execute();
}

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
