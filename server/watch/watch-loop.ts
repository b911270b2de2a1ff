/**
 * The only part of the watch that waits. On each tick it takes what arrived since its watermark, notes the sensors,
 * advances the instruments they speak for, and asks the rules; a visit or a changed placement asks at once.
 */
import type { TimeSeries } from '../../ingest/index.ts';
import type { Database } from '../db/database.ts';
import { instruments, type PlacedInstrument } from '../registry/instruments.ts';
import { allOrganisations } from '../registry/organisations.ts';
import { placements, type SensorRow, sensorRows } from '../registry/sensors.ts';
import { rooms, venues } from '../registry/venues.ts';
import type { Viewer } from '../registry/viewer.ts';
import { hourFloor } from '../series/climate.ts';
import { noteArrivals } from './arrivals.ts';
import { evaluateInstrument } from './evaluate.ts';
import { evaluateSensor } from './evaluate-sensor.ts';

export interface WatchDeps {
  readonly db: Database;
  readonly store: TimeSeries;
  readonly now: () => number;
  readonly log: { error(fields: object, message: string): void; info(fields: object, message: string): void };
}

export interface Watch {
  /** Looks now; resolves when all that arrived has been judged. */
  tick(): Promise<void>;
  /** Looks at some instruments now, whatever arrived: a visit came, a placement or a board changed. */
  reconsider(viewer: Viewer, instrumentIds: readonly string[], changedFromMs: number | null): Promise<void>;
  stop(): Promise<void>;
}

const watermarkName = 'watch';

export function startWatch(deps: WatchDeps, everyMs: number): Watch {
  // One evaluation at a time: an instrument has one writer.
  let running: Promise<unknown> = Promise.resolve();
  const inTurn = <Result>(work: () => Promise<Result>): Promise<Result> => {
    const result = running.then(work);
    running = result.catch(() => undefined);
    return result;
  };
  const lastHour = new Map<string, number>();

  async function look(): Promise<void> {
    const cursor = await watermark(deps.db);
    const changed = await deps.store.changedSince(cursor);
    for (const viewer of await allOrganisations(deps.db)) {
      const nowMs = deps.now();
      const mine = changed.series.filter((one) => one.id.organisation === viewer.organisationId);
      await noteArrivals(deps.db, deps.store, viewer, mine, nowMs);
      const sensors = await sensorRows(deps.db, viewer);
      const all = await instruments(deps.db, viewer);
      const changedFrom = await touched(deps.db, viewer, all, sensors, mine);
      for (const instrument of all) {
        const fromMs = changedFrom.get(instrument.id) ?? null;
        const hour = hourFloor(nowMs);
        const known = lastHour.get(instrument.id);
        // Readings of the hour that still runs change nothing the rules look at.
        if (known === hour && (fromMs === null || fromMs >= hour)) continue;
        await evaluateInstrument(deps, viewer, instrument, nowMs, fromMs);
        lastHour.set(instrument.id, hour);
        await breathe();
      }
      const where = await placements(deps.db, viewer);
      const spots = {
        venues: await venues(deps.db, viewer),
        rooms: await rooms(deps.db, viewer),
        instruments: all,
      };
      for (const sensor of sensors) await evaluateSensor(deps.db, viewer, sensor, where, spots, nowMs);
    }
    if (changed.cursor !== cursor) await setWatermark(deps.db, changed.cursor);
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
        const all = await instruments(deps.db, viewer);
        for (const instrument of all.filter((one) => ids.includes(one.id))) {
          await evaluateInstrument(deps, viewer, instrument, deps.now(), changedFromMs);
        }
      }),
    async stop() {
      clearInterval(timer);
      await running;
    },
  };
}

/** Which instruments the arrived readings speak for, and from when on. */
async function touched(
  db: Database,
  viewer: Viewer,
  all: readonly PlacedInstrument[],
  sensors: readonly SensorRow[],
  changed: readonly { readonly id: { readonly sensor: string }; readonly fromMs: number }[],
): Promise<Map<string, number>> {
  const fromBySensor = new Map<string, number>();
  const idByUrn = new Map(sensors.map((sensor) => [sensor.urn, sensor.id]));
  for (const { id, fromMs } of changed) {
    const sensorId = idByUrn.get(id.sensor);
    if (sensorId) fromBySensor.set(sensorId, fromMs);
  }
  const result = new Map<string, number>();
  for (const placement of await placements(db, viewer)) {
    const fromMs = fromBySensor.get(placement.sensorId);
    if (fromMs === undefined || (placement.untilMs !== null && placement.untilMs <= fromMs)) continue;
    for (const instrument of all) {
      if (placement.instrumentId !== instrument.id && placement.roomId !== instrument.roomId) continue;
      const start = Math.max(fromMs, placement.fromMs);
      result.set(instrument.id, Math.min(result.get(instrument.id) ?? start, start));
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

/** Lets messages and requests through between two instruments. */
const breathe = (): Promise<void> => new Promise((resolve) => setImmediate(resolve));
