/** Which parts of the tolerance does one draw of an instrument pass, so and so long after a tuning? For runs that tune again on the way. */
import type { Tolerance } from '../pitch.ts';
import type { DriftDraws } from './draws.ts';
import { residualGrowth } from './residual.ts';
import { drawnSpread, type SpreadDraws } from './spread-draws.ts';
import { type Break, medianBeyond } from './tolerance.ts';

/** Since the tuning, which is taken to have left it at pitch. */
export interface Passed {
  readonly netPct: number;
  readonly rangePct: number;
  readonly years: number;
  readonly temperatureChangeC: number;
}

/** What is out: nothing, the pitch (level or step), the unisons, or both. */
export const outBy = { nothing: 0, pitch: 1, unisons: 2 } as const;

/** @returns the sum of what is out, of `outBy`. @param residuals unit residuals by register for this occasion; those of the draws where none are given */
export type Judge = (k: number, passed: Passed, residuals?: (register: number) => number) => number;

export function judgeOf(
  drift: DriftDraws,
  spread: SpreadDraws,
  tolerance: Tolerance,
  breaks: readonly Break[],
): Judge {
  const offsets = new Float64Array(drift.registers.length);
  const names = drift.registers.map(({ register }) => register);
  const pairs = breaks
    .map(([below, above]) => [names.indexOf(below), names.indexOf(above)] as const)
    .filter(([below, above]) => below >= 0 && above >= 0);
  return (k, passed, residuals) => {
    const unisons = drawnSpread(spread, k, passed) > tolerance.unisonCents ? outBy.unisons : outBy.nothing;
    const growth = drift.grows ? residualGrowth(passed.years) : 1;
    for (let r = 0; r < offsets.length; r++) {
      const one = drift.registers[r] as DriftDraws['registers'][number];
      const moved = (one.moisture[k] as number) * passed.netPct;
      const scale = Math.sqrt(one.residualSd ** 2 * growth + (drift.moistureErrorShare * moved) ** 2);
      const residual = residuals === undefined ? (one.residual[k] as number) : residuals(r);
      offsets[r] =
        moved +
        (one.years[k] as number) * passed.years +
        (one.temperature[k] as number) * passed.temperatureChangeC +
        scale * residual;
    }
    for (const [below, above] of pairs) {
      if (Math.abs((offsets[above] as number) - (offsets[below] as number)) > tolerance.stepCents)
        return unisons + outBy.pitch;
    }
    return unisons + (medianBeyond(offsets, tolerance.levelCents) ? outBy.pitch : outBy.nothing);
  };
}
