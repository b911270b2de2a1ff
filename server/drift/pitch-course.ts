/** The predicted course of the pitch on a grid: from each anchor on, by what the board and the temperature did since. */
import { type BoardHours, hourAt } from '../series/board-run.ts';
import { hourMs } from '../series/climate.ts';
import type { Anchor } from './anchors.ts';
import type { Drift } from './learned.ts';
import { type Change, type Offsets, offsetsAt } from './standing.ts';

const yearMs = 365.25 * 24 * hourMs;

/** @returns null when either time lies outside the history. */
export function changeBetween(history: BoardHours, anchorMs: number, timeMs: number): Change | null {
  const from = hourAt(history, anchorMs);
  const to = hourAt(history, timeMs);
  if (from === null || to === null) return null;
  const moved = (course: readonly number[]): number =>
    (course[to] ?? Number.NaN) - (course[from] ?? Number.NaN);
  const [warmBefore, warmAfter] = [history.plateC[from] ?? null, history.plateC[to] ?? null];
  return {
    moisturePct: moved(history.moisturePct),
    lagPct: history.lagPct.map(moved),
    years: Math.max(0, (timeMs - anchorMs) / yearMs),
    // Where a temperature is missing its share of the change is left out, not guessed.
    temperatureC: warmBefore === null || warmAfter === null ? 0 : warmAfter - warmBefore,
  };
}

/** The last anchor at or before a time. */
export const anchorAt = (anchors: readonly Anchor[], timeMs: number): Anchor | null =>
  anchors.findLast((anchor) => anchor.atMs <= timeMs) ?? null;

/** One entry a time; null before the first anchor, and of a register where the history does not reach back to when it was heard. */
export function pitchCourse(
  drift: Drift,
  anchors: readonly Anchor[],
  history: BoardHours,
  timesMs: readonly number[],
): (Offsets | null)[] {
  return timesMs.map((timeMs) => {
    const anchor = anchorAt(anchors, timeMs);
    return anchor && offsetsAt(drift, anchor, (heardMs) => changeBetween(history, heardMs, timeMs));
  });
}
