/**
 * Does the humidity control of an instrument still hold? It stands between the room and its set point; the share of
 * that gap which the inside follows says how much of its work it does. A plain cumulative test on daily shares, asked
 * only on days whose gap is wide enough to tell and only on the side on which the control works.
 *
 * A stand-in with fixed numbers (proposals) until the drift part brings its likelihood test; the interface stays.
 */
import * as z from 'zod/mini';
import { timeMs } from '../contract/index.ts';

export const controlKinds = ['humidify', 'dehumidify', 'both'] as const;
export type ControlKind = (typeof controlKinds)[number];

/** One day's means at one instrument, oldest first; null where not measured. */
export interface ControlDay {
  readonly dayMs: number;
  readonly roomPct: number | null;
  readonly insidePct: number | null;
}

export const controlStanding = z.object({
  setPct: z.number(),
  kind: z.enum(controlKinds),
  /** Has it stopped working? null: cannot tell, no day's gap was wide enough. */
  lost: z.nullable(z.boolean()),
  sinceMs: z.nullable(timeMs),
  /** Share of the gap to the room the inside followed: of late, and usually. */
  share: z.nullable(z.number()),
  usual: z.nullable(z.number()),
  /** Room less set point on the last day that could tell, points. */
  gapPct: z.nullable(z.number()),
});
export type ControlStanding = z.infer<typeof controlStanding>;

const leastGapPct = 5;
/** Before a control has a past of its own: it usually keeps two thirds of the gap away. */
const usualBefore = 0.35;
const pastDays = 60;
const slack = 0.2;
const scale = 0.15;
const alarm = 4;
/** So many quiet days in a row and it is taken to work again. */
const mendedDays = 3;

export function controlShare(
  control: { readonly kind: ControlKind; readonly setPct: number; readonly sinceMs: number },
  days: readonly ControlDay[],
): ControlStanding {
  const good: number[] = [];
  let [sum, lost, quiet] = [0, false, 0];
  let risingMs: number | null = null;
  let sinceMs: number | null = null;
  let [lastGap, told] = [Number.NaN, 0];
  const recent: number[] = [];
  const usual = () => (good.length < 5 ? usualBefore : median(good.slice(-pastDays)));
  for (const day of days) {
    if (day.dayMs < control.sinceMs || day.roomPct === null || day.insidePct === null) continue;
    const gap = day.roomPct - control.setPct;
    const works = gap < 0 ? control.kind !== 'dehumidify' : control.kind !== 'humidify';
    if (!works || Math.abs(gap) < leastGapPct) continue;
    told += 1;
    lastGap = gap;
    const share = Math.min(1.5, Math.max(-0.5, (day.insidePct - control.setPct) / gap));
    recent.push(share);
    const step = Math.min(2, Math.max(-2, (share - usual() - slack) / scale));
    sum = Math.max(0, sum + step);
    if (sum === 0) {
      risingMs = null;
      good.push(share);
    } else risingMs ??= day.dayMs;
    if (sum > 2 * alarm) sum = 2 * alarm;
    if (!lost && sum >= alarm) [lost, sinceMs, quiet] = [true, risingMs, 0];
    else if (lost) {
      quiet = step <= 0 ? quiet + 1 : 0;
      if (quiet >= mendedDays) [lost, sinceMs, sum] = [false, null, 0];
    }
  }
  const known = told > 0;
  return {
    setPct: control.setPct,
    kind: control.kind,
    lost: known ? lost : null,
    sinceMs,
    share: known ? median(recent.slice(-5)) : null,
    usual: known ? usual() : null,
    gapPct: known ? lastGap : null,
  };
}

function median(values: readonly number[]): number {
  const sorted = [...values].sort((a, b) => a - b);
  return ((sorted[(sorted.length - 1) >> 1] ?? 0) + (sorted[sorted.length >> 1] ?? 0)) / 2;
}
