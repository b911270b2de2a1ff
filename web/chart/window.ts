/** Which stretch of time the chart shows. */
import { dayMs } from '../words/times.ts';

export const ranges = ['30 d', '90 d', '1 y', 'all'] as const;
export type RangeName = (typeof ranges)[number];

/** A named range ends at the present and goes on with it; a stretch drawn by hand stands still. */
export type Window =
  | { readonly kind: 'range'; readonly name: RangeName }
  | { readonly kind: 'drawn'; readonly fromMs: number; readonly toMs: number };

const lengthsMs: Readonly<Record<Exclude<RangeName, 'all'>, number>> = {
  '30 d': 30 * dayMs,
  '90 d': 90 * dayMs,
  '1 y': 365 * dayMs,
};

/** The least that can be drawn out: below it there is nothing more to see. */
export const leastMs = 6 * 3_600_000;

/**
 * What to ask of the service. Ends are set to whole steps, so that the same question is asked for a while (and its
 * answer comes from memory when one goes back).
 */
export function question(window: Window, nowMs: number): { from?: number; to?: number } {
  if (window.kind === 'drawn') return { from: Math.round(window.fromMs), to: Math.round(window.toMs) };
  if (window.name === 'all') return {};
  const stepMs = 300_000;
  const end = Math.ceil(nowMs / stepMs) * stepMs;
  return { from: end - lengthsMs[window.name] };
}
