/** How an instrument was left at its last tuning, and what it has gone through since: where a forecast starts from. */
import { type MoistureCourse, stepAt } from './board-lag.ts';
import type { Register } from './registers.ts';

export interface SinceTuning {
  readonly tunedMs: number;
  /** As left (cents); registers that were not measured are left out and not foretold. */
  readonly leftCents: Readonly<Partial<Record<Register, number>>>;
  /** At the piano when it was tuned. */
  readonly temperatureC: number;
  /** Board moisture (%MC) when it was tuned, and the least and most since, at each lag of the grid. */
  readonly moisturePct: readonly number[];
  readonly lowestPct: readonly number[];
  readonly highestPct: readonly number[];
  /** Correction made at the tuning (cents, up positive). */
  readonly raiseCents: number;
  /** When the strings were last replaced; null for old ones. */
  readonly strungMs: number | null;
}

/**
 * @param course the board's moisture, reaching back to the tuning; just after one its last hour may lie before
 * @returns null where it does not
 */
export function sinceTuning(
  course: MoistureCourse,
  tuning: Pick<SinceTuning, 'tunedMs' | 'leftCents' | 'temperatureC' | 'raiseCents' | 'strungMs'>,
): SinceTuning | null {
  const first = stepAt(course, tuning.tunedMs);
  if (first === null) return null;
  const passed = course.meanPct.map((mean) => mean.subarray(first));
  return {
    ...tuning,
    moisturePct: passed.map((mean) => mean[0] as number),
    lowestPct: passed.map((mean) => mean.reduce((low, value) => Math.min(low, value))),
    highestPct: passed.map((mean) => mean.reduce((high, value) => Math.max(high, value))),
  };
}

/** As if it were tuned at a time, perfectly and without a raise: what a proposed date starts from. */
export function asIfTuned(
  course: { readonly moisturePct: readonly number[]; readonly temperatureC: number },
  atMs: number,
  registers: readonly Register[],
): SinceTuning {
  return {
    tunedMs: atMs,
    leftCents: Object.fromEntries(registers.map((register) => [register, 0])),
    temperatureC: course.temperatureC,
    moisturePct: course.moisturePct,
    lowestPct: course.moisturePct,
    highestPct: course.moisturePct,
    raiseCents: 0,
    strungMs: null,
  };
}
