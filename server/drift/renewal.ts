/**
 * Keeps every instrument's forecast fresh: renewed once a day, each at its own turn so that a fleet's are spread over the hours,
 * and soon after a visit or whatever else it rests on. Those who watch read what is kept.
 */
import type { TimeSeries } from '../../ingest/index.ts';
import type { Database } from '../db/database.ts';
import { instrument } from '../registry/instruments.ts';
import { allOrganisations } from '../registry/organisations.ts';
import { seenBy, type Viewer } from '../registry/viewer.ts';
import { nextForecastMs } from './forecast-times.ts';
import { renewForecast } from './forecasting.ts';
import type { Thinking } from './thinking.ts';

export interface RenewalDeps {
  readonly db: Database;
  readonly store: TimeSeries;
  readonly thinking: Thinking;
  readonly now: () => number;
  readonly log: { error(fields: object, message: string): void };
  /** Told which forecasts are new, so that what is read off them is looked at anew. */
  readonly renewed: (viewer: Viewer, instrumentIds: readonly string[]) => void;
}

export interface Renewal {
  /** What these rest on has changed: their forecasts come first. */
  soon(viewer: Viewer, instrumentIds: readonly string[]): void;
  /** Renews some of those that are due. @returns how many are still due */
  tick(): Promise<number>;
  stop(): Promise<void>;
}

/** Renewed in one tick, at most: others ask the thread for long sums too. */
const renewalsATick = 5;

export function startRenewal(deps: RenewalDeps, everyMs: number): Renewal {
  const { db, store, thinking, now, log, renewed } = deps;
  /** By organisation, by instrument: when its forecast is due. It can be found again. */
  const due = new Map<string, Map<string, number>>();
  /** Tried and failed: not before their next turn, or every tick would say the same. */
  const failed = new Set<string>();
  let running: Promise<unknown> = Promise.resolve();
  let stopping = false;

  async function dueOf(viewer: Viewer): Promise<Map<string, number>> {
    const known = due.get(viewer.organisationId);
    if (known) return known;
    const found = await dueFromStore(db, viewer);
    due.set(viewer.organisationId, found);
    return found;
  }

  async function renewSome(viewer: Viewer): Promise<number> {
    // Before anything was learned of it a forecast would be made twice: the watch learns first.
    const ids = await db
      .selectFrom('drift_interval')
      .$call(seenBy(viewer, 'drift_interval'))
      .select('instrument_id as id')
      .execute();
    const times = await dueOf(viewer);
    const nowMs = now();
    // What was learned of it since, by whomever: a look-back beside the service, air that came late.
    for (const id of await overtaken(db, viewer)) if (!failed.has(id)) times.set(id, 0);
    const waiting = ids
      .map(({ id }) => ({ id, dueMs: times.get(id) ?? 0 }))
      .filter(({ dueMs }) => dueMs <= nowMs)
      .sort((a, b) => a.dueMs - b.dueMs);
    const done: string[] = [];
    for (const { id } of waiting.slice(0, renewalsATick)) {
      if (stopping) break;
      // Set before: what changes meanwhile makes it due again.
      times.set(id, nextForecastMs(id, nowMs));
      failed.delete(id);
      try {
        await renewForecast({ db, store }, viewer, thinking, await instrument(db, viewer, id), nowMs);
        done.push(id);
      } catch (error) {
        if (stopping) break;
        failed.add(id);
        log.error(
          { err: error, instrumentId: id },
          'a forecast could not be renewed; it waits for its next turn',
        );
      }
      await breathe();
    }
    if (done.length > 0) renewed(viewer, done);
    return waiting.length - done.length;
  }

  async function look(): Promise<number> {
    let left = 0;
    for (const viewer of await allOrganisations(db)) left += await renewSome(viewer);
    return left;
  }
  const inTurn = (): Promise<number> => {
    const result = running.then(() => (stopping ? 0 : look()));
    running = result.catch(() => undefined);
    return result;
  };
  const timer = setInterval(
    () =>
      inTurn().catch((error: unknown) =>
        log.error({ err: error }, 'forecasts could not be renewed; it is tried again'),
      ),
    everyMs,
  );

  return {
    soon(viewer, instrumentIds) {
      // Before the first tick nothing is known, and the stores will say the same.
      const known = due.get(viewer.organisationId);
      for (const id of instrumentIds) known?.set(id, 0);
    },
    tick: inTurn,
    async stop() {
      stopping = true;
      clearInterval(timer);
      await running;
    },
  };
}

/** As it stands in the stores: what was never made is due at once, all others at their next turn. */
async function dueFromStore(db: Database, viewer: Viewer): Promise<Map<string, number>> {
  const made = await db
    .selectFrom('forecast')
    .$call(seenBy(viewer, 'forecast'))
    .select(['instrument_id', 'made_ms'])
    .execute();
  return new Map(
    made.map(({ instrument_id, made_ms }) => [instrument_id, nextForecastMs(instrument_id, made_ms)]),
  );
}

/** Forecasts of instruments whose own intervals have changed since: a visit came, or air of long ago. */
async function overtaken(db: Database, viewer: Viewer): Promise<string[]> {
  const learned = await db
    .selectFrom('forecast')
    .$call(seenBy(viewer, 'forecast'))
    .innerJoin('drift_interval', 'drift_interval.instrument_id', 'forecast.instrument_id')
    .whereRef('drift_interval.computed_ms', '>', 'forecast.made_ms')
    .select('forecast.instrument_id as id')
    .execute();
  return learned.map((row) => row.id);
}

/** Lets messages and requests through between two forecasts. */
const breathe = (): Promise<void> => new Promise((resolve) => setImmediate(resolve));
