/** How wide the unisons stand now: they spread with what the board does and do not come back with the season. */
import type { Visit } from '../contract/index.ts';
import {
  lagWeightsOf,
  predictSpread,
  readingCents,
  spreadBeyond,
  spreadChangeOf,
} from '../science/drift/index.ts';
import type { BoardHours } from '../series/board-run.ts';
import { hourMs } from '../series/climate.ts';
import { isTuning } from '../visits/visits.ts';
import { courseOf, unisonsRead } from './intervals.ts';
import type { Drift } from './learned.ts';

export interface UnisonsNow {
  readonly spreadCents: number;
  /** Chance of being wider than the tolerance, 0-1. */
  readonly beyond: number;
}

/** Unisons as somebody read them who did not tune. */
export interface UnisonsRead {
  readonly visit: Visit;
  readonly cents: number;
}

/** The last such reading since the last tuning; null where there is none. @param visits newest first */
export function unisonsReadSince(visits: readonly Visit[]): UnisonsRead | null {
  for (const visit of visits.slice(0, Math.max(0, visits.findIndex(isTuning)))) {
    const reading = unisonsRead(visit, 'found');
    if (reading) return { visit, cents: readingCents(reading) };
  }
  return null;
}

/**
 * From the tuning or, where they were read wider since, from there: one register that sounds clean does not speak for all.
 * @returns null where the board is not known back to the tuning.
 */
export function unisonsNow(
  { posterior, spread, instrument }: Drift,
  history: BoardHours,
  tunedMs: number,
  toleranceCents: number,
  read: UnisonsRead | null,
): UnisonsNow | null {
  const lastMs = history.fromMs + (history.moisturePct.length - 1) * hourMs;
  const weights = lagWeightsOf(posterior, instrument);
  const since = (fromMs: number, left: number) => {
    const change = spreadChangeOf(courseOf(history), weights, fromMs, lastMs);
    return change && predictSpread({ ...spread, left }, instrument.id, change);
  };
  const tuned = since(tunedMs, spread.left);
  if (!tuned) return null;
  const wider = read && since(read.visit.atMs, read.cents);
  const predicted = wider && wider.medianCents > tuned.medianCents ? wider : tuned;
  return { spreadCents: predicted.medianCents, beyond: spreadBeyond(predicted, toleranceCents) };
}
