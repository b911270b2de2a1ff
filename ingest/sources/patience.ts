/**
 * Who is dropped again and again comes in more slowly: each drop doubles the pause before the next attempt is looked
 * at, and attempts made side by side queue up behind each other, so that guessing in parallel gains nothing.
 */
export interface Patience {
  /** How long to let this one wait now; null: longer than is worth holding a connection for, send it away. */
  waitMs(key: string): number | null;
  dropped(key: string): void;
  /** It behaved; its drops are forgotten. */
  settled(key: string): void;
  /** How many are remembered; bounded. */
  size(): number;
}

interface Past {
  readonly drops: number;
  /** When the next attempt may be looked at. */
  readonly freeMs: number;
}

const firstPauseMs = 250;
const longestPauseMs = 30_000;
const longestHeldMs = 60_000;
const forgottenAfterMs = 15 * 60_000;

export function createPatience(now: () => number, remembered = 10_000): Patience {
  // In the order of the last change, so that the first is the one to forget.
  const pasts = new Map<string, Past>();

  function keep(key: string, past: Past): void {
    pasts.delete(key);
    pasts.set(key, past);
    for (const [oldest, { freeMs }] of pasts) {
      if (pasts.size <= remembered && freeMs + forgottenAfterMs > now()) break;
      pasts.delete(oldest);
    }
  }

  return {
    waitMs(key) {
      const past = pasts.get(key);
      if (!past) return 0;
      const at = Math.max(now(), past.freeMs);
      if (at - now() > longestHeldMs) return null;
      keep(key, { drops: past.drops, freeMs: at + pauseAfter(past.drops) });
      return at - now();
    },
    dropped(key) {
      const drops = (pasts.get(key)?.drops ?? 0) + 1;
      keep(key, { drops, freeMs: Math.max(pasts.get(key)?.freeMs ?? 0, now() + pauseAfter(drops)) });
    },
    settled(key) {
      pasts.delete(key);
    },
    size: () => pasts.size,
  };
}

const pauseAfter = (drops: number): number =>
  Math.min(longestPauseMs, firstPauseMs * 2 ** Math.min(drops - 1, 20));
