/**
 * Notices when a broker has forgotten our session: what was published since it last held it may be missing. What the
 * broker held is remembered outside of this process, so that a restart of ours hides no gap.
 */
import type { RefusalReason } from '../gateways.ts';
import type { Log } from '../log.ts';
import type { Memory } from './memory.ts';
import { printable } from './sessions.ts';

export interface GapWatch {
  /** The broker answered our CONNECT. */
  connected(sessionPresent: boolean): void;
  /** The connection ended; until then the broker held the session. */
  ended(): void;
  count(): number;
  stop(): Promise<void>;
}

export interface GapParts {
  readonly clientId: string;
  /** The session's name in the memory: two brokers may know the same client id. */
  readonly name: string;
  readonly memory?: Memory | undefined;
  readonly now: () => number;
  readonly tell: (reason: RefusalReason, sentence: string) => void;
  readonly log: Log;
}

/** After a kill the gap is told to begin this much too early, at most. */
const keptEveryMs = 60_000;

export function watchGaps({ clientId, name, memory, now, tell, log }: GapParts): GapWatch {
  let heldMs: number | null = null;
  let gaps = 0;
  let working = Promise.resolve();
  let timer: NodeJS.Timeout | undefined;

  /** One after the other; a memory that cannot be reached costs a warning, never a reading. */
  function inTurn(work: () => Promise<void>): void {
    working = working
      .then(work)
      .catch((error) =>
        log.warn({ err: error, clientId }, 'what the broker holds for us could not be remembered'),
      );
  }
  function keep(): void {
    heldMs = now();
    const atMs = heldMs;
    if (memory) inTurn(() => memory.keep(name, atMs));
  }
  function gap(sinceMs: number, untilMs: number): void {
    gaps += 1;
    const [since, until] = [new Date(sinceMs).toISOString(), new Date(untilMs).toISOString()];
    tell(
      'possible-gap',
      `The broker no longer knew the session ${printable(clientId)}: messages published between ${since} and ${until} may be missing.`,
    );
  }

  return {
    connected(sessionPresent) {
      const atMs = now();
      if (!sessionPresent && heldMs !== null) gap(heldMs, atMs);
      else if (!sessionPresent) {
        inTurn(async () => {
          const beforeMs = (await memory?.recall(name)) ?? null;
          if (beforeMs !== null) gap(beforeMs, atMs);
          else log.warn({ clientId }, 'the broker knows no session of this client id; it makes one now');
        });
      }
      keep();
      clearInterval(timer);
      timer = setInterval(keep, keptEveryMs).unref();
    },
    ended() {
      clearInterval(timer);
      keep();
    },
    count: () => gaps,
    stop() {
      clearInterval(timer);
      return working;
    },
  };
}
