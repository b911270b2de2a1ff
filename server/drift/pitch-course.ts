/** The predicted course of the pitch on a grid: from each anchor on, by what the board and the temperature did since. */
import type { Register } from '../contract/index.ts';
import type { DriftPosterior } from '../science/index.ts';
import type { BoardHours } from '../series/board-run.ts';
import { hourMs } from '../series/climate.ts';
import type { Anchor } from './anchors.ts';
import { type Change, type Offset, offsetsAt } from './standing.ts';

const yearMs = 365.25 * 24 * hourMs;
/** The plate follows the air slowly; its pitch answers the mean of about a day. */
const plateHours = 24;

/** Board and air of an instrument, hour by hour on one grid. */
export interface History {
  readonly board: BoardHours;
  /** Temperature at the piano on the same hours; null where unknown. */
  readonly temperatureC: readonly (number | null)[];
}

/** Index of the last hour that ended at or before a time; null outside the history. */
export function hourAt(history: History, timeMs: number): number | null {
  const at = Math.floor((timeMs - history.board.fromMs) / hourMs) - 1;
  const last = history.board.moisturePct.length - 1;
  if (at < -1 || last < 0) return null;
  return Math.min(Math.max(at, 0), last);
}

/** Mean temperature of the day up to an hour; null where none of it is known. */
export function plateTemperatureC(history: History, hour: number): number | null {
  const known = history.temperatureC
    .slice(Math.max(0, hour - plateHours + 1), hour + 1)
    .filter((one) => one !== null);
  return known.length === 0 ? null : known.reduce((sum, one) => sum + one, 0) / known.length;
}

/** @returns null when either time lies outside the history. */
export function changeBetween(history: History, anchorMs: number, timeMs: number): Change | null {
  const from = hourAt(history, anchorMs);
  const to = hourAt(history, timeMs);
  if (from === null || to === null) return null;
  const before = history.board.moisturePct[from];
  const after = history.board.moisturePct[to];
  if (before === undefined || after === undefined) return null;
  const [warmBefore, warmAfter] = [plateTemperatureC(history, from), plateTemperatureC(history, to)];
  return {
    moisturePct: after - before,
    years: (timeMs - anchorMs) / yearMs,
    // Where a temperature is missing its share of the change is left out, not guessed.
    temperatureC: warmBefore === null || warmAfter === null ? 0 : warmAfter - warmBefore,
  };
}

/** The last anchor at or before a time. */
export const anchorAt = (anchors: readonly Anchor[], timeMs: number): Anchor | null =>
  anchors.findLast((anchor) => anchor.atMs <= timeMs) ?? null;

/** One entry a time; null before the first anchor and where the history does not reach. */
export function pitchCourse(
  posterior: DriftPosterior,
  anchors: readonly Anchor[],
  history: History,
  timesMs: readonly number[],
): (Record<Register, Offset | null> | null)[] {
  return timesMs.map((timeMs) => {
    const anchor = anchorAt(anchors, timeMs);
    if (!anchor) return null;
    const change = changeBetween(history, anchor.atMs, timeMs);
    return change && offsetsAt(posterior, anchor, change);
  });
}
