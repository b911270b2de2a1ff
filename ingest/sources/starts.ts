/**
 * Whether a broker elsewhere was started again, told from its uptime: what it took just before may be lost, and it says
 * no good-bye. An uptime that went back is proof. Else the time of its start is worked out and compared with the one
 * before, but only over a connection that came after another ended: no broker outlives its connections, and so neither
 * a clock that is set nor a process of ours that was held up looks like a restart.
 */
import type { Memory } from './memory.ts';

export interface StartWatch {
  /** The broker answered a CONNECT. */
  connected(): void;
  /**
   * @param uptimeS in whole seconds
   * @param retained it waited at the broker and may be as old as the broker speaks seldom
   * @param atTick when it came
   */
  heard(uptimeS: number, retained: boolean, atTick: number): Promise<void>;
  /** Remembers what is known by now. */
  stop(): Promise<void>;
}

export interface StartParts {
  /** The broker's, in the memory. */
  readonly host: string;
  readonly memory: Memory;
  readonly now: () => number;
  /** A clock that nobody sets. */
  readonly ticks: () => number;
  readonly again: (startedMs: number) => Promise<void>;
}

/** Uptime is cut to whole seconds; the other second is for the way. */
const differsMs = 2_000;
/** Across a restart of ours the machine's clock is all there is. */
const differsByClockMs = 10_000;
/** The first message of a connection may have been held up; the earliest start that two of them speak for is believed. */
const enough = 2;
const keptEveryMs = 60_000;
const never = Number.POSITIVE_INFINITY;

export function watchStarts({ host, memory, now, ticks, again }: StartParts): StartWatch {
  const [startName, uptimeName] = [`start of ${host}`, `uptime of ${host}`];
  /** By the ticks; of the run that was judged last. */
  let startTick: number | null = null;
  /** No later than this did the run begin that was heard before any was judged: what waited at the broker says so too. */
  let boundTick = never;
  let lastUptimeS: number | null = null;
  let keptTick = Number.NEGATIVE_INFINITY;
  /** Of this connection: fresh messages, the start they speak for, and the start that any of them speaks for. */
  let fresh = 0;
  let earliestTick = never;
  let leastTick = never;

  const byClock = (tick: number): number => now() - (ticks() - tick);

  async function keep(tick: number): Promise<void> {
    keptTick = ticks();
    await memory.keep(startName, byClock(tick));
    if (lastUptimeS !== null) await memory.keep(uptimeName, lastUptimeS);
  }

  async function wasStarted(uptimeS: number): Promise<boolean> {
    if ((lastUptimeS ?? (await memory.recall(uptimeName)) ?? 0) > uptimeS) return true;
    if (fresh !== enough) return false;
    if (earliestTick - (startTick ?? boundTick) > differsMs) return true;
    if (startTick !== null) return false;
    const before = await memory.recall(startName);
    return before !== null && byClock(earliestTick) - before > differsByClockMs;
  }

  return {
    connected() {
      if (startTick === null) boundTick = Math.min(boundTick, leastTick);
      [fresh, earliestTick, leastTick] = [0, never, never];
    },
    async heard(uptimeS, retained, atTick) {
      const tick = atTick - uptimeS * 1_000;
      leastTick = Math.min(leastTick, tick);
      if (!retained) {
        fresh += 1;
        earliestTick = Math.min(earliestTick, tick);
      }
      const started = await wasStarted(uptimeS);
      lastUptimeS = uptimeS;
      if (started) startTick = Math.min(tick, earliestTick);
      else if (fresh >= enough) startTick = earliestTick;
      if (started) await again(byClock(startTick ?? tick));
      if (startTick === null) return;
      if (started || (fresh >= enough && ticks() - keptTick >= keptEveryMs)) await keep(startTick);
    },
    async stop() {
      const tick = startTick ?? Math.min(boundTick, leastTick);
      if (tick === never) return;
      // What was never judged is worth less than what was kept before.
      if (startTick !== null || (await memory.recall(startName)) === null) await keep(tick);
    },
  };
}
