/** How often one caller may ask in a span of time: for doors that open by a secret alone. */

export interface Rate {
  /** Counts one more; false where that is too many. */
  take(who: string): boolean;
}

/** So many are remembered at once; a flood of names forgets all of them rather than fill the memory. */
const mostNames = 10_000;

/** @param most in each span; a span begins for all at once */
export function rate(most: number, spanMs: number, now: () => number): Rate {
  const counts = new Map<string, number>();
  let span = -1;
  return {
    take(who) {
      const current = Math.floor(now() / spanMs);
      if (current !== span || counts.size > mostNames) counts.clear();
      span = current;
      const count = (counts.get(who) ?? 0) + 1;
      counts.set(who, count);
      return count <= most;
    },
  };
}
