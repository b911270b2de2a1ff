/**
 * Best dates are dear (a quarter of a second an instrument), and the year plan wants them all: they are worked out a few
 * at a time and kept for the day. Whoever asks gets what is known and how many are missing, and asks again.
 */
import type { BestDates } from '../contract/index.ts';
import { Contradiction } from '../registry/viewer.ts';

export interface WantedDates {
  readonly id: string;
  /** A year: above 0, at most 12. */
  readonly tunings: number;
  /** A new visit makes what was kept worthless. */
  readonly lastTunedMs: number | null;
}

export interface KeptDates {
  /** null of an instrument: nothing can be foretold of it, or no date is better than habit. What is not in the map is not known yet. */
  known(wanted: readonly WantedDates[], nowMs: number): ReadonlyMap<string, readonly number[] | null>;
  /** Works out what is missing, for at most so long. Two at once share the work. */
  workOut(wanted: readonly WantedDates[], nowMs: number, forMs: number): Promise<void>;
}

const dayMs = 86_400_000;
const leastGainDays = 1;

export function keepDates(ask: (id: string, tunings: number) => Promise<BestDates>): KeptDates {
  const kept = new Map<string, { readonly mark: string; readonly datesMs: readonly number[] | null }>();
  let busy: Promise<void> | null = null;
  const markOf = ({ tunings, lastTunedMs }: WantedDates, nowMs: number) =>
    `${tunings} ${lastTunedMs} ${Math.floor(nowMs / dayMs)}`;
  const missing = (wanted: readonly WantedDates[], nowMs: number) =>
    wanted.filter((one) => kept.get(one.id)?.mark !== markOf(one, nowMs));

  async function work(wanted: readonly WantedDates[], nowMs: number, forMs: number): Promise<void> {
    const endMs = performance.now() + forMs;
    for (const one of missing(wanted, nowMs)) {
      if (performance.now() >= endMs) return;
      const datesMs = await ask(one.id, Math.max(1, Math.round(one.tunings))).then(
        // Dates that gain nothing are no reason to leave the habit.
        ({ dates, gainDays }) => (gainDays < leastGainDays ? null : dates.map(({ atMs }) => atMs)),
        (error: unknown) => {
          if (error instanceof Contradiction) return null;
          throw error;
        },
      );
      kept.set(one.id, { mark: markOf(one, nowMs), datesMs });
    }
  }
  return {
    known: (wanted, nowMs) =>
      new Map(
        wanted.flatMap((one) => {
          const found = kept.get(one.id);
          return found?.mark === markOf(one, nowMs) ? [[one.id, found.datesMs] as const] : [];
        }),
      ),
    async workOut(wanted, nowMs, forMs) {
      busy ??= work(wanted, nowMs, forMs).finally(() => {
        busy = null;
      });
      await busy;
    },
  };
}
