/** When is an instrument out of tolerance? Level, step at its own breaks, and unison spread; within means all three. */
import type { Tolerance } from '../pitch.ts';
import type { Register } from './registers.ts';

/** Neighbouring registers between which the scale breaks. */
export type Break = readonly [Register, Register];

/** Where most instruments break: from wound to plain strings, and at the strut above the middle. Common practice, no source. */
export const usualBreaks: readonly Break[] = [
  ['bass', 'tenor'],
  ['middle', 'treble'],
];

export interface ToleranceDays {
  /** 1 where the path is beyond, per part: count × days. */
  readonly level: Uint8Array;
  readonly step: Uint8Array;
  readonly spread: Uint8Array;
}

/**
 * Level: the median over the measured registers of the absolute offset. Step: the difference across a break, so that a uniform +4
 * passes where 6 at the bass break does not.
 *
 * @param spreadCents null where the unisons were never measured or learned: their part is then within
 */
export function beyondTolerancePaths(
  offsets: readonly { readonly register: Register; readonly cents: Float64Array }[],
  spreadCents: Float64Array | null,
  tolerance: Tolerance,
  breaks: readonly Break[],
): ToleranceDays {
  const length = offsets[0]?.cents.length ?? spreadCents?.length ?? 0;
  const level = new Uint8Array(length);
  const step = new Uint8Array(length);
  const spread = new Uint8Array(length);
  const pairs = breaks.flatMap(([below, above]) => {
    const low = offsets.find(({ register }) => register === below);
    const high = offsets.find(({ register }) => register === above);
    return low === undefined || high === undefined ? [] : [[low.cents, high.cents] as const];
  });
  const columns = offsets.map(({ cents }) => cents);
  const day = new Float64Array(columns.length);
  for (let i = 0; i < length; i++) {
    for (let r = 0; r < columns.length; r++) day[r] = (columns[r] as Float64Array)[i] as number;
    if (medianBeyond(day, tolerance.levelCents)) level[i] = 1;
    for (const [low, high] of pairs) {
      if (Math.abs((high[i] as number) - (low[i] as number)) > tolerance.stepCents) step[i] = 1;
    }
    if (spreadCents !== null && (spreadCents[i] as number) > tolerance.unisonCents) spread[i] = 1;
  }
  return { level, step, spread };
}

/** Does the median of the absolute values lie beyond a limit? Without sorting: more than half of them do, or half and the mean of the two in the middle. */
export function medianBeyond(values: Float64Array, limit: number): boolean {
  let beyond = 0;
  let nearest = Number.POSITIVE_INFINITY;
  let furthestWithin = 0;
  for (let r = 0; r < values.length; r++) {
    const size = Math.abs(values[r] as number);
    if (size > limit) {
      beyond++;
      if (size < nearest) nearest = size;
    } else if (size > furthestWithin) {
      furthestWithin = size;
    }
  }
  if (beyond * 2 === values.length) return beyond > 0 && nearest + furthestWithin > 2 * limit;
  return beyond * 2 > values.length;
}
