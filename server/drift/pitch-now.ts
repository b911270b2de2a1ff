/** The pitch of an instrument now, over the past month, and in three weeks if the air stays as it was. */
import type { Tolerance } from '../contract/index.ts';
import type { PlacedInstrument } from '../registry/instruments.ts';
import { type DriftPosterior, tradePrior } from '../science/index.ts';
import { type BoardHours, dayMs } from '../series/board-run.ts';
import type { Anchor } from './anchors.ts';
import { outlookDays } from './outlook.ts';
import { changeBetween } from './pitch-course.ts';
import { type Change, offsetsAt, type PitchStanding, standingOf } from './standing.ts';

export interface PitchNow {
  readonly anchor: Anchor;
  /** Change of mean board moisture since the anchor, %MC. */
  readonly moistureChangePct: number;
  readonly now: PitchStanding;
  /** The standing at the same hour of each past day since the anchor, newest first; at most a month. */
  readonly past: readonly PitchStanding[];
  /** In three weeks, if the air stays as it was in the past week; null where the past week is unknown. */
  readonly in21Days: PitchStanding | null;
}

const pastDays = 30;

/** The posterior of an instrument's drift: for now the trade's prior for its kind. */
export const posteriorOf = (instrument: PlacedInstrument): DriftPosterior => tradePrior(instrument.kind);

/**
 * @param history reaches back to the anchor, or the answer is null.
 * @param outlook board moisture now and after each coming day; empty where it is unknown.
 */
export function pitchNow(
  instrument: PlacedInstrument,
  anchor: Anchor,
  history: BoardHours,
  outlook: readonly number[],
  tolerance: Tolerance,
  nowMs: number,
): PitchNow | null {
  const posterior = posteriorOf(instrument);
  const change = changeBetween(history, anchor.atMs, nowMs);
  if (!change) return null;
  const standing = (at: Change) => standingOf(offsetsAt(posterior, anchor, at), tolerance);
  const past: PitchStanding[] = [];
  for (let day = 1; day <= pastDays; day++) {
    const then = nowMs - day * dayMs;
    const sofar = then < anchor.atMs ? null : changeBetween(history, anchor.atMs, then);
    if (!sofar) break;
    past.push(standing(sofar));
  }
  const [today] = outlook;
  const later = outlook[outlookDays];
  const in21Days =
    today === undefined || later === undefined
      ? null
      : standing({
          ...change,
          moisturePct: change.moisturePct + later - today,
          years: change.years + outlookDays / 365.25,
        });
  return { anchor, moistureChangePct: change.moisturePct, now: standing(change), past, in21Days };
}
