/**
 * A condition with begin and end thresholds and a least duration for each: what keeps a value that hovers at a limit
 * from making many notices. What was not measured moves nothing.
 */

/** What a rule says of one hour. Between its two thresholds a value is neither. */
export interface Measure {
  /** Beyond the threshold at which a notice may begin. */
  readonly over: boolean;
  /** Back on the quiet side of the threshold at which it may end. */
  readonly quiet: boolean;
}

export interface Condition {
  readonly holds: boolean;
  /** Since when it has been beyond the begin threshold; kept while it holds. */
  readonly sinceMs: number | null;
  /** Since when it has been quiet; only while it holds. */
  readonly quietMs: number | null;
}

export interface Durations {
  /** It must last so long to begin, */
  readonly beginAfterMs: number;
  /** and be quiet so long to be over. */
  readonly endAfterMs: number;
}

export const never: Condition = { holds: false, sinceMs: null, quietMs: null };

/**
 * The condition after one more stretch of time.
 * @param fromMs, toMs the stretch the measure speaks for; equal for a moment
 */
export function stepCondition(
  before: Condition,
  measure: Measure | null,
  fromMs: number,
  toMs: number,
  { beginAfterMs, endAfterMs }: Durations,
): Condition {
  if (measure === null) return before;
  if (!before.holds) {
    if (!measure.over) return before.sinceMs === null ? before : never;
    const sinceMs = before.sinceMs ?? fromMs;
    return { holds: toMs - sinceMs >= beginAfterMs, sinceMs, quietMs: null };
  }
  if (!measure.quiet) return before.quietMs === null ? before : { ...before, quietMs: null };
  const quietMs = before.quietMs ?? fromMs;
  return toMs - quietMs >= endAfterMs ? never : { ...before, quietMs };
}
