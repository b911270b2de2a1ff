/**
 * The shelf the readings stand on: the smallest port that every engine can keep honestly.
 *
 * Identity is (organisation, sensor, quantity, time). A later message fills what was empty; the same value again is
 * a duplicate; a different value for a filled one is a conflict, and `conflictKeeps` says which one stays.
 * Ranges and buckets are closed at their start and open at their end: [from, to), [start, start + width).
 *
 * What SQLite keeps and InfluxDB cannot, in one place:
 * - a conflict: the engine overwrites without a word, so the last value stays, not the first;
 * - exact counts: it does not say what was there already. A process counts the duplicates and conflicts it can notice
 *   among what it wrote lately itself; after a restart, or between two workers, they count as stored. Nothing is
 *   doubled by that: identity holds on every engine;
 * - readings older than the retention its owner has set: they are told as `refused`, the rest of the batch is kept;
 * - changes across a step back of the engine's clock by more than ten minutes: its clock orders the arrivals.
 */
import type { Quantity, Reading, SeriesId } from '../reading.ts';

export interface Appended {
  /** Values (not rows) that are new, as far as `counts` of the engine can tell. */
  readonly stored: number;
  /** Values that were there already. */
  readonly duplicates: number;
  /** Values that contradict a stored one. */
  readonly conflicts: number;
  /** Readings the engine will never keep, which asking again would not change; their values are in no other count. */
  readonly refused?: readonly { readonly reading: Reading; readonly sentence: string }[];
}

/** Ascending times; every array has their length; null where that quantity was not measured. */
export type Columns = { readonly timesMs: number[] } & Readonly<Record<Quantity, (number | null)[]>>;

export interface Statistics {
  readonly count: number[];
  /** null where count is 0. */
  readonly mean: (number | null)[];
  readonly min: (number | null)[];
  readonly max: (number | null)[];
}

/** Only buckets that hold something; `timesMs` are their starts, ascending. */
export interface Rollup {
  readonly timesMs: number[];
  readonly humidityPct: Statistics;
  readonly temperatureC: Statistics;
}

export interface TimeSeries {
  readonly conflictKeeps: 'first' | 'last';
  /** 'noticed': only duplicates and conflicts among what this process wrote lately are told from new values. */
  readonly counts: 'exact' | 'noticed';
  /** Resolves when the batch is durable; rejects when it is not, and then nothing of it may be acknowledged. */
  append(batch: readonly Reading[]): Promise<Appended>;
  read(id: SeriesId, fromMs: number, toMs: number): Promise<Columns>;
  /**
   * Buckets stand on whole multiples of their width since the epoch, wherever the range begins, so that they do not
   * change as a chart is moved; only readings within the range count. Days of a time zone are made of hours.
   * @param widthMs a whole number of hours is answered from kept roll-ups, anything else from the readings.
   */
  buckets(id: SeriesId, fromMs: number, toMs: number, widthMs: number): Promise<Rollup>;
  /**
   * Series with readings that arrived since the cursor (null: ever), each with the earliest time that may have
   * changed. At least once; `fromMs` may be early, never late.
   */
  changedSince(
    cursor: string | null,
  ): Promise<{ cursor: string; series: { id: SeriesId; fromMs: number }[] }>;
  stop(): Promise<void>;
}
