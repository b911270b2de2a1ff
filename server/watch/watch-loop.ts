/**
 * The only part of the watch that waits. On each tick it takes what arrived since its watermark, notes the sensors,
 * takes on the instruments they speak for, some hundreds to a transaction, and asks the rules; a visit or a changed
 * placement asks at once. The daily looks are spread over the hours and give way to everything else.
 */
import type { TimeSeries } from '../../ingest/index.ts';
import type { Database } from '../db/database.ts';
import { learn, unlearned } from '../drift/learned.ts';
import { allOrganisations } from '../registry/organisations.ts';
import type { SensorRow } from '../registry/sensors.ts';
import { sensorRows } from '../registry/sensors.ts';
import type { Viewer } from '../registry/viewer.ts';
import { dayMs } from '../series/board-run.ts';
import { hourFloor } from '../series/climate.ts';
import { noteArrivals } from './arrivals.ts';
import { type Asked, batchSize, evaluateBatch, graceMs } from './evaluate.ts';
import { distrustedSensors, evaluateSensors, type SensorsKnown } from './evaluate-sensors.ts';
import { evaluateVenues } from './evaluate-venues.ts';
import { gatherVenues } from './gather-venues.ts';
import { keeper } from './keep-judged.ts';
import { type LastKnown, lastKnown } from './last-known.ts';
import { nextLookMs, overtaken } from './looks.ts';
import { closeCalls, openCalls } from './open-calls.ts';
import { type RegistryFacts, registryChanges, registryFacts } from './registry-facts.ts';
import { endRetired } from './retired.ts';

export interface WatchDeps {
  readonly db: Database;
  readonly store: TimeSeries;
  readonly now: () => number;
  readonly log: { error(fields: object, message: string): void; info(fields: object, message: string): void };
  /** Told after each look at an organisation, in turn: what is to be said is said by others. */
  readonly afterLook?: (viewer: Viewer, nowMs: number) => Promise<void>;
}

export interface Watch {
  /** Looks now; resolves when all that arrived has been judged. */
  tick(): Promise<void>;
  /** Looks at some instruments now, whatever arrived: a visit came, a placement, a board or a setting changed. */
  reconsider(viewer: Viewer, instrumentIds: readonly string[], changedFromMs: number | null): Promise<void>;
  /** A venue's coming days were told: whether they bring frost is asked now. */
  weatherCame(viewer: Viewer, venueId: string): Promise<void>;
  /** What the daily look reads of these is new: it is renewed in one of the next ticks. */
  lookSoon(viewer: Viewer, instrumentIds: readonly string[]): void;
  stop(): Promise<void>;
}

const watermarkName = 'watch';
/** Sensors are asked this often though they said nothing: silence is noticed by the clock. */
const sensorClockMs = 10 * 60_000;
/** Air older than this may lie between two visits. */
const lateAirMs = 2 * dayMs;
/** Daily looks made in one tick, at most; a fleet of 10,000 needs one in nine seconds. */
const looksATick = 5;

/** What the loop remembers of one organisation between ticks; all of it can be found again. */
interface Memory {
  facts: RegistryFacts | null;
  /** Changes of the registry that the facts know. */
  factsAt: number;
  sensors: Map<string, SensorRow>;
  sensorsMs: number;
  /** Hour up to which each instrument was judged, and when its daily look is due. */
  readonly judged: Map<string, { untilMs: number; lookMs: number }>;
  readonly shown: Map<string, string>;
  readonly lastKnown: LastKnown;
  readonly sensorsKnown: SensorsKnown;
  distrusted: Map<string, string> | null;
  venuesMs: number;
  /** Instruments with a visit their last look does not know; null: not asked yet. */
  overtaken: Set<string> | null;
  /** Whether what is open was gathered by venue since the start, and since pianos were retired: the service may have ended just before. */
  gathered: boolean;
  /** Instruments whose intervals are to be worked out (anew); null: not asked yet which have none. */
  unlearned: Set<string> | null;
}

export function startWatch(deps: WatchDeps, everyMs: number): Watch {
  const { db, store } = deps;
  // One evaluation at a time: an instrument has one writer.
  let running: Promise<unknown> = Promise.resolve();
  const inTurn = <Result>(work: () => Promise<Result>): Promise<Result> => {
    const result = running.then(work);
    running = result.catch(() => undefined);
    return result;
  };
  const memories = new Map<string, Memory>();

  async function memoryOf(viewer: Viewer): Promise<Memory & { facts: RegistryFacts }> {
    let memory = memories.get(viewer.organisationId);
    if (!memory) {
      const nothing = {
        facts: null,
        factsAt: 0,
        sensorsMs: 0,
        distrusted: null,
        venuesMs: 0,
        overtaken: null,
        gathered: false,
        unlearned: null,
      };
      memory = {
        ...nothing,
        sensors: new Map(),
        judged: new Map(),
        shown: new Map(),
        lastKnown: lastKnown(),
        sensorsKnown: new Map(),
      };
      memories.set(viewer.organisationId, memory);
      for (const row of await sensorRows(db, viewer)) memory.sensors.set(row.id, row);
    }
    const changes = await registryChanges(db, viewer);
    if (!memory.facts || changes !== memory.factsAt) {
      memory.facts = await registryFacts(db, viewer);
      memory.factsAt = changes;
      if (await endRetired(db, viewer, deps.now())) memory.gathered = false;
    }
    return memory as Memory & { facts: RegistryFacts };
  }

  async function judge(
    viewer: Viewer,
    memory: Memory & { facts: RegistryFacts },
    asked: readonly Asked[],
    nowMs: number,
  ) {
    memory.distrusted ??= await distrustedSensors(db, viewer);
    const { facts, distrusted, shown, lastKnown } = memory;
    const lastMs = (sensorId: string) => memory.sensors.get(sensorId)?.last_ms ?? null;
    const batchDeps = { db, store, facts, lastMs, distrusted, shown, lastKnown };
    const kept = keeper(batchDeps, viewer, nowMs);
    for (let i = 0; i < asked.length; i += batchSize) {
      await kept.take(await evaluateBatch(batchDeps, viewer, asked.slice(i, i + batchSize), nowMs));
      await breathe();
    }
    const changed = await kept.finish();
    const untilMs = hourFloor(nowMs - graceMs);
    for (const { instrument, renew } of asked) {
      const before = memory.judged.get(instrument.id);
      const lookMs = renew || !before ? nextLookMs(instrument.id, nowMs) : before.lookMs;
      memory.judged.set(instrument.id, { untilMs, lookMs });
    }
    return changed;
  }

  async function lookAt(viewer: Viewer, mine: Changed): Promise<void> {
    const nowMs = deps.now();
    const rows = await noteArrivals(db, store, viewer, mine, nowMs);
    const memory = await memoryOf(viewer);
    for (const row of rows) memory.sensors.set(row.id, row);
    const { facts } = memory;

    const clock = Math.abs(nowMs - memory.sensorsMs) >= sensorClockMs;
    const spoke = clock ? [...memory.sensors.values()] : rows;
    let changed = !memory.gathered;
    if (spoke.length > 0) {
      const news = await evaluateSensors(
        { db, store, facts, known: memory.sensorsKnown },
        viewer,
        spoke,
        nowMs,
      );
      if (news) memory.distrusted = null;
      changed = news || changed;
      if (clock) memory.sensorsMs = nowMs;
    }

    const changedFrom = touched(facts, mine);
    const untilMs = hourFloor(nowMs - graceMs);
    const asked: Asked[] = [];
    memory.overtaken ??= await overtaken(db, viewer);
    let looks = 0;
    for (const instrument of facts.instruments) {
      const known = memory.judged.get(instrument.id);
      const fromMs = changedFrom.get(instrument.id) ?? null;
      const due = known !== undefined && nowMs >= known.lookMs && looks < looksATick;
      // Readings of the hour that still runs change nothing the rules look at.
      if (known?.untilMs === untilMs && (fromMs === null || fromMs >= untilMs) && !due) continue;
      if (due) looks += 1;
      const renew = due || memory.overtaken.delete(instrument.id);
      asked.push({ instrument, changedFromMs: fromMs, renew });
    }
    if (asked.length > 0) changed = (await judge(viewer, memory, asked, nowMs)) || changed;
    if (hourFloor(nowMs) !== memory.venuesMs) {
      memory.venuesMs = hourFloor(nowMs);
      changed = (await evaluateVenues(db, viewer, facts, [...facts.venues.values()], nowMs)) || changed;
    }
    if (changed) await gatherVenues(db, viewer, facts, nowMs);
    memory.gathered = true;
    await learnSome(viewer, memory, changedFrom, untilMs, nowMs);
  }

  /** Drift is learned from what visits found: of newcomers, and again where air of long ago came late. */
  async function learnSome(
    viewer: Viewer,
    memory: Memory & { facts: RegistryFacts },
    changedFrom: ReadonlyMap<string, number>,
    untilMs: number,
    nowMs: number,
  ): Promise<void> {
    const { instruments, byId } = memory.facts;
    memory.unlearned ??= new Set((await unlearned(db, viewer, instruments)).map((one) => one.id));
    for (const [id, fromMs] of changedFrom) if (fromMs < untilMs - lateAirMs) memory.unlearned.add(id);
    const some = [...memory.unlearned].slice(0, looksATick);
    if (some.length === 0) return;
    for (const id of some) memory.unlearned.delete(id);
    await learn(
      { db, store },
      viewer,
      some.flatMap((id) => byId.get(id) ?? []),
      nowMs,
      breathe,
    );
    if (memory.unlearned.size > 0) return;
    // What was learned shows with the next look at each.
    for (const [id, one] of memory.judged) memory.judged.set(id, { ...one, lookMs: nowMs });
  }

  async function look(): Promise<void> {
    const cursor = await watermark(db);
    const changed = await store.changedSince(cursor);
    const byOrganisation = new Map<string, Changed[number][]>();
    for (const one of changed.series) {
      const mine = byOrganisation.get(one.id.organisation);
      if (mine) mine.push(one);
      else byOrganisation.set(one.id.organisation, [one]);
    }
    for (const viewer of await allOrganisations(db)) {
      await lookAt(viewer, byOrganisation.get(viewer.organisationId) ?? []);
    }
    if (changed.cursor !== cursor) await setWatermark(db, changed.cursor);
    for (const viewer of await allOrganisations(db)) await deps.afterLook?.(viewer, deps.now());
  }

  const safely = () =>
    inTurn(look).catch((error: unknown) =>
      deps.log.error({ err: error }, 'the watch could not look; it tries again'),
    );
  const timer = setInterval(safely, everyMs);

  return {
    tick: () => inTurn(look),
    reconsider: (viewer, ids, changedFromMs) =>
      inTurn(async () => {
        const nowMs = deps.now();
        const memory = await memoryOf(viewer);
        for (const row of await sensorRows(db, viewer)) memory.sensors.set(row.id, row);
        memory.venuesMs = 0;
        memory.lastKnown.forget(ids);
        const given = memory.facts.instruments.filter((one) => ids.includes(one.id));
        await learn({ db, store }, viewer, given, nowMs, breathe);
        const asked = given.map((instrument): Asked => ({ instrument, changedFromMs, renew: true }));
        const calls = await openCalls(db, viewer, nowMs, 'asked');
        if (await judge(viewer, memory, asked, nowMs)) await gatherVenues(db, viewer, memory.facts, nowMs);
        await closeCalls(db, viewer, calls, ids, nowMs);
      }),
    weatherCame: (viewer, venueId) =>
      inTurn(async () => {
        const nowMs = deps.now();
        const { facts } = await memoryOf(viewer);
        const there = [...facts.venues.values()].filter((one) => one.id === venueId);
        if (await evaluateVenues(db, viewer, facts, there, nowMs))
          await gatherVenues(db, viewer, facts, nowMs);
      }),
    lookSoon(viewer, ids) {
      const judged = memories.get(viewer.organisationId)?.judged;
      for (const id of ids) {
        const one = judged?.get(id);
        if (one) judged?.set(id, { ...one, lookMs: 0 });
      }
    },
    async stop() {
      clearInterval(timer);
      await running;
    },
  };
}

type Changed = readonly {
  readonly id: { readonly organisation: string; readonly sensor: string };
  readonly fromMs: number;
}[];

/** Which instruments the arrived readings speak for, and from when on. */
function touched(facts: RegistryFacts, changed: Changed): Map<string, number> {
  const result = new Map<string, number>();
  for (const { id, fromMs } of changed) {
    const sensorId = facts.idByUrn.get(id.sensor);
    if (sensorId === undefined) continue;
    for (const placed of facts.heardAt(sensorId)) {
      if (placed.untilMs !== null && placed.untilMs <= fromMs) continue;
      const startMs = Math.max(fromMs, placed.fromMs);
      for (const one of placed.instrumentIds) result.set(one, Math.min(result.get(one) ?? startMs, startMs));
    }
  }
  return result;
}

async function watermark(db: Database): Promise<string | null> {
  const row = await db
    .selectFrom('watermark')
    .select('value')
    .where('name', '=', watermarkName)
    .executeTakeFirst();
  return row?.value ?? null;
}

async function setWatermark(db: Database, value: string): Promise<void> {
  await db
    .insertInto('watermark')
    .values({ name: watermarkName, value })
    .onConflict((conflict) => conflict.column('name').doUpdateSet({ value }))
    .execute();
}

/** Lets messages and requests through between two batches. */
const breathe = (): Promise<void> => new Promise((resolve) => setImmediate(resolve));
