/** How wide the unisons stand now: they spread with what the board does and do not come back with the season. */
import { lagWeightsOf, predictSpread, spreadBeyond, spreadChangeOf } from '../science/drift/index.ts';
import type { BoardHours } from '../series/board-run.ts';
import { hourMs } from '../series/climate.ts';
import { courseOf } from './intervals.ts';
import type { Drift } from './learned.ts';

export interface UnisonsNow {
  readonly spreadCents: number;
  /** Chance of being wider than the tolerance, 0-1. */
  readonly beyond: number;
}

/** @returns null where the board is not known back to the tuning. */
export function unisonsNow(
  { posterior, spread, instrument }: Drift,
  history: BoardHours,
  tunedMs: number,
  toleranceCents: number,
): UnisonsNow | null {
  const lastMs = history.fromMs + (history.moisturePct.length - 1) * hourMs;
  const change = spreadChangeOf(courseOf(history), lagWeightsOf(posterior, instrument), tunedMs, lastMs);
  if (!change) return null;
  const predicted = predictSpread(spread, instrument.id, change);
  return { spreadCents: predicted.medianCents, beyond: spreadBeyond(predicted, toleranceCents) };
}
