/** The predicted course of the pitch on a grid: from each anchor on, by what the board and the temperature did since. */
import type { Register } from '../contract/index.ts';
import type { DriftPosterior } from '../science/index.ts';
import type { BoardHours } from '../series/board-run.ts';
import { hourMs } from '../series/climate.ts';
import type { Anchor } from './anchors.ts';
import { type Change, type Offset, offsetsAt } from './standing.ts';

const yearMs = 365.25 * 24 * hourMs;

/** Index of the last hour that ended at or before a time; null before the history. */
export function hourAt(history: BoardHours, timeMs: number): number | null {
  const at = Math.floor((timeMs - history.fromMs) / hourMs) - 1;
  const last = history.moisturePct.length - 1;
  if (at < -1 || last < 0) return null;
  return Math.min(Math.max(at, 0), last);
}

/** @returns null when either time lies outside the history. */
export function changeBetween(history: BoardHours, anchorMs: number, timeMs: number): Change | null {
  const from = hourAt(history, anchorMs);
  const to = hourAt(history, timeMs);
  if (from === null || to === null) return null;
  const before = history.moisturePct[from];
  const after = history.moisturePct[to];
  if (before === undefined || after === undefined) return null;
  const [warmBefore, warmAfter] = [history.plateC[from] ?? null, history.plateC[to] ?? null];
  return {
    moisturePct: after - before,
    years: Math.max(0, (timeMs - anchorMs) / yearMs),
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
  history: BoardHours,
  timesMs: readonly number[],
): (Record<Register, Offset | null> | null)[] {
  return timesMs.map((timeMs) => {
    const anchor = anchorAt(anchors, timeMs);
    if (!anchor) return null;
    const change = changeBetween(history, anchor.atMs, timeMs);
    return change && offsetsAt(posterior, anchor, change);
  });
}
