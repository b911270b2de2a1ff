/** Sums up a look-back: per instrument, venue or fleet, each interval counting once. */
import type { ScoredInterval } from './look-back.ts';
import { type RivalName, rivalNames } from './rivals.ts';

export interface Score {
  readonly intervals: number;
  /** Share of what was found that lay within the 80 % band. */
  readonly coverage: number;
  /** The same for bands from 10 to 90 %: shares found within each, to be drawn beside what they promise. */
  readonly calibration: readonly { readonly promised: number; readonly found: number }[];
  /** Mean absolute error (cents), the model's and each rival's. */
  readonly errorCents: number;
  readonly rivalCents: Readonly<Record<RivalName, number>>;
  readonly bestRival: RivalName;
  /** The model's error over the best rival's: below 1 the model was worth having. */
  readonly ratio: number;
}

const promises = [0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9];

/** @returns null where nothing was scored. */
export function scoreOf(scored: readonly ScoredInterval[]): Score | null {
  const counted = scored.filter(({ registers }) => registers.length > 0);
  if (counted.length === 0) return null;
  const mean = (of: (interval: ScoredInterval) => number) =>
    counted.reduce((sum, interval) => sum + of(interval), 0) / counted.length;
  const within = (interval: ScoredInterval, of: (row: ScoredInterval['registers'][number]) => number) =>
    interval.registers.reduce((sum, row) => sum + of(row), 0) / interval.registers.length;
  const rivalCents = Object.fromEntries(
    rivalNames.map((name) => [
      name,
      mean((interval) => within(interval, (row) => Math.abs(row.foundCents - row.rivals[name]))),
    ]),
  ) as Record<RivalName, number>;
  const bestRival = rivalNames.reduce((best, name) => (rivalCents[name] < rivalCents[best] ? name : best));
  const errorCents = mean((interval) =>
    within(interval, (row) => Math.abs(row.foundCents - row.expectedCents)),
  );
  return {
    intervals: counted.length,
    coverage: mean((interval) =>
      within(interval, (row) => (row.foundCents >= row.lowCents && row.foundCents <= row.highCents ? 1 : 0)),
    ),
    calibration: promises.map((promised) => ({
      promised,
      found: mean((interval) =>
        within(interval, ({ rank }) => (Math.abs(rank - 0.5) <= promised / 2 ? 1 : 0)),
      ),
    })),
    errorCents,
    rivalCents,
    bestRival,
    ratio: errorCents / rivalCents[bestRival],
  };
}
