/**
 * Looks through what arrived for readings that jump and come back, puts them in doubt, and has what rests on them
 * worked out anew. Apart from the watch, which sees readings only as they are to be understood.
 */
import type { SeriesId, TimeSeries } from '../../ingest/index.ts';
import type { Database } from '../db/database.ts';
import { seriesKey } from '../registry/calibrations.ts';
import { type Doubt, putDoubts } from '../registry/doubts.ts';
import type { Hearing } from '../registry/heard-by.ts';
import { allOrganisations } from '../registry/organisations.ts';
import { sensorRows } from '../registry/sensors.ts';
import type { Viewer } from '../registry/viewer.ts';
import type { Amendments } from '../series/amended.ts';
import { dayMs } from '../series/board-run.ts';
import { hourMs } from '../series/climate.ts';
import { doubtfulIn } from '../series/jumps.ts';
import { hearersOf } from '../series/stands-at.ts';
import type { Watch } from './watch-loop.ts';

export interface SiftDeps {
  readonly db: Database;
  /** Readings as they were sent. */
  readonly sent: TimeSeries;
  readonly amendments: Amendments;
  readonly hearing: Hearing;
  readonly watch: Watch;
  readonly now: () => number;
  readonly log: { error(fields: object, message: string): void };
}

interface Arrived {
  readonly id: SeriesId;
  readonly fromMs: number;
}

export interface Sift {
  tick(): Promise<void>;
  stop(): Promise<void>;
}

const watermarkName = 'sift';
/** Where nothing was ever sifted, the last days do; a past that is brought in later is sifted whole. */
const firstLookMs = 3 * dayMs;
/** Read at a time: enough to be quick, little enough not to hold the process. */
const chunkMs = 7 * dayMs;
/** Before a window, so that its first readings can be judged by what was said before. */
const leadMs = 3 * hourMs;

const breathe = (): Promise<void> => new Promise((resolve) => setImmediate(resolve));

export function startSifting(deps: SiftDeps, everyMs: number): Sift {
  const { db, sent, amendments, hearing, watch, now } = deps;
  let running: Promise<unknown> = Promise.resolve();
  /** What newcomers sent before the watch had noted them: looked through once they are known. */
  let waiting: readonly Arrived[] = [];

  async function siftSensor(viewer: Viewer, sensorId: string, urn: string, fromMs: number) {
    const id = { organisation: viewer.organisationId, sensor: urn };
    let changedMs: number | null = null;
    const endMs = now() + dayMs;
    for (let start = fromMs; start < endMs; start += chunkMs) {
      const window = { fromMs: start, untilMs: Math.min(start + chunkMs, endMs) };
      // A run at the end of a window is decided by what comes after it.
      const columns = await sent.read(id, start - leadMs, window.untilMs + leadMs);
      const found = doubtfulIn(columns).filter(
        (one: Doubt) => one.fromMs >= window.fromMs && one.fromMs < window.untilMs,
      );
      const from = await putDoubts(db, viewer, sensorId, window, found);
      if (from !== null) changedMs = Math.min(changedMs ?? from, from);
      await breathe();
    }
    return changedMs;
  }

  async function reconsider(viewer: Viewer, changed: ReadonlyMap<string, number>): Promise<void> {
    const ids = (await hearersOf(db, viewer, new Set(changed.keys()))).map(({ id }) => id);
    if (ids.length > 0) await watch.reconsider(viewer, ids, Math.min(...changed.values()));
  }

  async function sift(): Promise<void> {
    await hearing.flush();
    const mark = await db
      .selectFrom('watermark')
      .select('value')
      .where('name', '=', watermarkName)
      .executeTakeFirst();
    const { cursor, series: arrived } = await sent.changedSince(mark?.value ?? null);
    const series: readonly Arrived[] = [...waiting, ...arrived];
    const unknown = new Map<string, Arrived>();
    for (const viewer of await allOrganisations(db)) {
      const ids = new Map((await sensorRows(db, viewer)).map(({ urn, id }) => [urn, id]));
      const changed = new Map<string, number>();
      for (const { id, fromMs } of series) {
        if (id.organisation !== viewer.organisationId) continue;
        const sensorId = ids.get(id.sensor);
        if (sensorId === undefined) {
          const before = unknown.get(seriesKey(id))?.fromMs ?? fromMs;
          unknown.set(seriesKey(id), { id, fromMs: Math.min(fromMs, before) });
          continue;
        }
        const start = mark ? fromMs : Math.max(fromMs, now() - firstLookMs);
        const changedMs = await siftSensor(viewer, sensorId, id.sensor, start - hourMs);
        if (changedMs !== null)
          changed.set(sensorId, Math.min(changedMs, changed.get(sensorId) ?? changedMs));
      }
      if (changed.size === 0) continue;
      await amendments.reload();
      await reconsider(viewer, changed);
    }
    waiting = [...unknown.values()];
    if (cursor === mark?.value) return;
    await db
      .insertInto('watermark')
      .values({ name: watermarkName, value: cursor })
      .onConflict((conflict) => conflict.column('name').doUpdateSet({ value: cursor }))
      .execute();
  }

  const inTurn = (): Promise<void> => {
    const result = running.then(sift);
    running = result.catch(() => undefined);
    return result;
  };
  const timer = setInterval(
    () =>
      inTurn().catch((error: unknown) =>
        deps.log.error({ err: error }, 'readings could not be looked through; it is tried again'),
      ),
    everyMs,
  );
  return {
    tick: inTurn,
    async stop() {
      clearInterval(timer);
      await running;
      await hearing.flush();
    },
  };
}
