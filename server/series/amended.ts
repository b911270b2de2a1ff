/**
 * Readings as they are to be understood: put right by the calibration that holds at their time, and without those in
 * doubt. What is stored is never touched; whoever wants readings as they were sent asks the store itself.
 */
import type { Columns, Rollup, SeriesId, Statistics, TimeSeries } from '../../ingest/index.ts';
import type { Correction } from '../contract/index.ts';
import type { Database } from '../db/database.ts';
import { corrections, seriesKey } from '../registry/calibrations.ts';
import { type Doubt, doubts } from '../registry/doubts.ts';

/** Changed seldom and asked often, so all of it is held in memory. */
export interface Amendments {
  correctionsOf(id: SeriesId): readonly Correction[];
  doubtsOf(id: SeriesId): readonly Doubt[];
  /** To be called after a calibration or a doubt was put down. */
  reload(): Promise<void>;
}

export async function amendmentsIn(db: Database): Promise<Amendments> {
  let [held, doubted] = [await corrections(db), await doubts(db)];
  return {
    correctionsOf: (id) => held.get(seriesKey(id)) ?? [],
    doubtsOf: (id) => doubted.get(seriesKey(id)) ?? [],
    async reload() {
      [held, doubted] = [await corrections(db), await doubts(db)];
    },
  };
}

const asSent: Correction = { fromMs: 0, gain: 1, offsetPct: 0, offsetC: 0 };

/** The correction that holds at a time; as sent before the first. */
export const correctionAt = (all: readonly Correction[], timeMs: number): Correction =>
  all.findLast((one) => one.fromMs <= timeMs) ?? asSent;

export const rightPct = (pct: number, { gain, offsetPct }: Correction): number =>
  Math.min(100, Math.max(0, gain * pct + offsetPct));

interface Piece {
  readonly fromMs: number;
  readonly toMs: number;
  readonly correction: Correction;
}

/** A window cut where another calibration begins to hold. */
function piecesOf(all: readonly Correction[], fromMs: number, toMs: number): Piece[] {
  const cuts = [fromMs, ...all.map((one) => one.fromMs).filter((at) => at > fromMs && at < toMs), toMs];
  return cuts.slice(1).flatMap((end, i) => {
    const start = cuts[i] ?? fromMs;
    return start < end ? [{ fromMs: start, toMs: end, correction: correctionAt(all, start) }] : [];
  });
}

type Air = 'humidityPct' | 'temperatureC';
interface Cell {
  count: number;
  sum: number;
  min: number;
  max: number;
}
type Cells = Map<number, Record<Air, Cell>>;

const right = (quantity: Air, value: number, correction: Correction): number =>
  quantity === 'humidityPct' ? rightPct(value, correction) : value + correction.offsetC;

function cellsAt(cells: Cells, timeMs: number): Record<Air, Cell> {
  const none = (): Cell => ({
    count: 0,
    sum: 0,
    min: Number.POSITIVE_INFINITY,
    max: Number.NEGATIVE_INFINITY,
  });
  const there = cells.get(timeMs) ?? { humidityPct: none(), temperatureC: none() };
  cells.set(timeMs, there);
  return there;
}

function add(cell: Cell, count: number, mean: number, min: number, max: number): void {
  cell.count += count;
  cell.sum += count * mean;
  cell.min = Math.min(cell.min, min);
  cell.max = Math.max(cell.max, max);
}

function addRollup(cells: Cells, rollup: Rollup, correction: Correction): void {
  rollup.timesMs.forEach((timeMs, i) => {
    const there = cellsAt(cells, timeMs);
    for (const quantity of ['humidityPct', 'temperatureC'] as const) {
      const { count, mean, min, max } = rollup[quantity];
      const [m, low, high] = [mean[i] ?? null, min[i] ?? null, max[i] ?? null];
      if (m === null || low === null || high === null) continue;
      const of = (value: number) => right(quantity, value, correction);
      add(there[quantity], count[i] ?? 0, of(m), of(low), of(high));
    }
  });
}

function rollupOf(cells: Cells): Rollup {
  const timesMs = [...cells.keys()].sort((a, b) => a - b);
  const statistics = (quantity: Air): Statistics => {
    const all = timesMs.map((timeMs) => cells.get(timeMs)?.[quantity]);
    const known = (value: (cell: Cell) => number) =>
      all.map((cell) => (cell && cell.count > 0 ? value(cell) : null));
    return {
      count: all.map((cell) => cell?.count ?? 0),
      mean: known((cell) => cell.sum / cell.count),
      min: known((cell) => cell.min),
      max: known((cell) => cell.max),
    };
  };
  return { timesMs, humidityPct: statistics('humidityPct'), temperatureC: statistics('temperatureC') };
}

const isDoubtful = (all: readonly Doubt[], timeMs: number): boolean =>
  all.some((one) => one.fromMs <= timeMs && timeMs < one.untilMs);

function amendColumns(columns: Columns, all: readonly Correction[], doubted: readonly Doubt[]): Columns {
  const amend = (quantity: Air) =>
    columns[quantity].map((value, i) => {
      const timeMs = columns.timesMs[i] ?? 0;
      if (value === null || isDoubtful(doubted, timeMs)) return null;
      return right(quantity, value, correctionAt(all, timeMs));
    });
  return { ...columns, humidityPct: amend('humidityPct'), temperatureC: amend('temperatureC') };
}

export function amended(store: TimeSeries, amendments: Amendments): TimeSeries {
  const within = (id: SeriesId, fromMs: number, toMs: number) =>
    amendments.doubtsOf(id).filter((one) => one.fromMs < toMs && one.untilMs > fromMs);

  async function read(id: SeriesId, fromMs: number, toMs: number): Promise<Columns> {
    const columns = await store.read(id, fromMs, toMs);
    const all = amendments.correctionsOf(id);
    const doubted = within(id, fromMs, toMs);
    return all.length === 0 && doubted.length === 0 ? columns : amendColumns(columns, all, doubted);
  }

  async function buckets(id: SeriesId, fromMs: number, toMs: number, widthMs: number): Promise<Rollup> {
    const all = amendments.correctionsOf(id);
    const doubted = within(id, fromMs, toMs);
    if (all.length === 0 && doubted.length === 0) return store.buckets(id, fromMs, toMs, widthMs);
    const cells: Cells = new Map();
    for (const piece of piecesOf(all, fromMs, toMs)) {
      addRollup(cells, await store.buckets(id, piece.fromMs, piece.toMs, widthMs), piece.correction);
    }
    // Kept roll-ups know nothing of doubts: the buckets they fall into are made of the readings again.
    const touched = new Set<number>();
    for (const one of doubted) {
      for (let at = Math.floor(one.fromMs / widthMs) * widthMs; at < one.untilMs; at += widthMs)
        touched.add(at);
    }
    for (const at of touched) {
      if (!cells.delete(at)) continue;
      const columns = await read(id, Math.max(at, fromMs), Math.min(at + widthMs, toMs));
      columns.timesMs.forEach((_, i) => {
        for (const quantity of ['humidityPct', 'temperatureC'] as const) {
          const value = columns[quantity][i] ?? null;
          if (value !== null) add(cellsAt(cells, at)[quantity], 1, value, value, value);
        }
      });
    }
    return rollupOf(cells);
  }

  return { ...store, read, buckets };
}
