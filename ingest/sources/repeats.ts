/** What happens again and again within a few minutes: once is an accident, the third time has a cause. */
export interface Repeats {
  /** It happened to this one; true when it is time to tell, which is once in that many minutes. */
  again(key: string): boolean;
}

export interface RepeatLimits {
  readonly times: number;
  readonly withinMs: number;
}

/** Two devices that share a client id end each other's connection as fast as they come back. */
export const takeovers: RepeatLimits = { times: 3, withinMs: 5 * 60_000 };
const remembered = 1_000;

interface Past {
  readonly atMs: readonly number[];
  readonly quietUntilMs: number;
}

export function createRepeats({ times, withinMs }: RepeatLimits, now: () => number): Repeats {
  // In the order of the last time, so that the first is the one to forget.
  const pasts = new Map<string, Past>();
  return {
    again(key) {
      const nowMs = now();
      const { atMs, quietUntilMs } = pasts.get(key) ?? { atMs: [], quietUntilMs: 0 };
      const recent = [...atMs.filter((one) => nowMs - one < withinMs), nowMs].slice(-times);
      const telling = recent.length === times && nowMs >= quietUntilMs;
      pasts.delete(key);
      pasts.set(key, telling ? { atMs: [], quietUntilMs: nowMs + withinMs } : { atMs: recent, quietUntilMs });
      for (const oldest of pasts.keys()) {
        if (pasts.size <= remembered) break;
        pasts.delete(oldest);
      }
      return telling;
    },
  };
}
