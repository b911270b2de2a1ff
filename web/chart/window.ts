/** Which stretch of time the chart shows. */
import { dayMs } from '../words/times.ts';

export const ranges = ['30 d', '90 d', '1 y', 'all', 'coming'] as const;
export type RangeName = (typeof ranges)[number];

/** A named range holds the past up to the present, which it follows, and what is foretold; a stretch drawn by hand stands still. */
export type Window =
  | { readonly kind: 'range'; readonly name: RangeName }
  | { readonly kind: 'drawn'; readonly fromMs: number; readonly toMs: number };

const lengthsMs: Readonly<Record<Exclude<RangeName, 'all'>, number>> = {
  '30 d': 30 * dayMs,
  '90 d': 90 * dayMs,
  '1 y': 365 * dayMs,
  // Enough of the past to see where the fans come from.
  coming: 14 * dayMs,
};

/** As much of what is foretold as of the past, if there is so much; the coming days alone show all of it. */
export function endMs(name: RangeName, nowMs: number, foretoldUntilMs: number): number {
  if (name === 'all' || name === 'coming') return foretoldUntilMs;
  return Math.min(foretoldUntilMs, nowMs + lengthsMs[name]);
}

/** The least that can be drawn out: below it there is nothing more to see. */
export const leastMs = 6 * 3_600_000;

/**
 * What to ask of the service. Ends are set to whole steps, so that the same question is asked for a while (and its
 * answer comes from memory when one goes back).
 */
export function question(window: Window, nowMs: number): { from?: number; to?: number } {
  const stepMs = 300_000;
  const end = Math.ceil(nowMs / stepMs) * stepMs;
  if (window.kind === 'drawn') {
    if (window.toMs < nowMs) return { from: Math.round(window.fromMs), to: Math.round(window.toMs) };
    // Of the coming days the service has no readings; the last of the past are where the fans begin.
    return { from: Math.min(Math.round(window.fromMs), end - 2 * dayMs) };
  }
  if (window.name === 'all') return {};
  return { from: end - lengthsMs[window.name] };
}
