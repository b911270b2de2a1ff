/** Would a tuning hold until an event? Judged by what the board did of late, where there is no forecast yet. */
import type { Drift } from '../drift/learned.ts';
import { slopesOf } from '../drift/standing.ts';
import { concertCents } from '../science/drift/index.ts';
import { probabilityBeyond } from '../science/index.ts';
import { type BoardHours, dayMs } from '../series/board-run.ts';

/**
 * Chance that a register moves over 2 cents between tuning and event, if the air stays as in the past week, give or
 * take what the board did over as many days in the past month.
 */
export function unsteadiness(
  { drift, history }: { readonly drift: Drift; readonly history: BoardHours | null },
  path: readonly number[],
  tuneMs: number,
  startMs: number,
  nowMs: number,
): number | null {
  const day = (ms: number) => Math.max(0, Math.round((ms - nowMs) / dayMs));
  const [from, to] = [path[day(tuneMs)], path[day(startMs)]];
  if (!history || from === undefined || to === undefined) return null;
  const spanHours = Math.max(24, Math.round((startMs - Math.max(tuneMs, nowMs)) / 3_600_000));
  const board = history.moisturePct.slice(-31 * 24);
  const moves = board.slice(spanHours).map((value, i) => value - (board[i] ?? value));
  if (moves.length < 48) return null;
  const sdPct = Math.sqrt(moves.reduce((sum, one) => sum + one * one, 0) / moves.length);
  const chances = Object.values(slopesOf(drift)).map((slope) =>
    probabilityBeyond(
      slope.mean * (to - from),
      Math.hypot(slope.sd * (to - from), Math.abs(slope.mean) * sdPct),
      concertCents,
    ),
  );
  return Math.max(...chances);
}
