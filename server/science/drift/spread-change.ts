import { type MoistureCourse, stepAt } from './board-lag.ts';
import type { SpreadChange } from './spread.ts';

const msPerYear = 365.25 * 86_400_000;

/**
 * Net change and range of the board's moisture between two times, over the likely lags.
 *
 * @param weights how likely each lag of the course is
 * @returns null where the climate does not reach from end to end
 */
export function spreadChangeOf(
  course: MoistureCourse,
  weights: readonly number[],
  fromMs: number,
  toMs: number,
): SpreadChange | null {
  const first = stepAt(course, fromMs);
  const last = stepAt(course, toMs);
  if (first === null || last === null || last < first) return null;
  let low = Number.POSITIVE_INFINITY;
  let high = Number.NEGATIVE_INFINITY;
  let start = 0;
  let end = 0;
  for (let i = first; i <= last; i++) {
    let mean = 0;
    for (let lag = 0; lag < weights.length; lag++) {
      mean += (weights[lag] as number) * ((course.meanPct[lag] as Float64Array)[i] as number);
    }
    if (i === first) start = mean;
    end = mean;
    low = Math.min(low, mean);
    high = Math.max(high, mean);
  }
  return { netPct: end - start, rangePct: high - low, years: Math.max(0, toMs - fromMs) / msPerYear };
}
