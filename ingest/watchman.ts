/**
 * Of several workers one listens to what their broker says of itself, else each dropped message would be told as often
 * as there are workers. Whose turn it is the service says; it goes to another when the one that had it is not heard of.
 */
import { type Log, silent } from './log.ts';

export interface WatchmanParts {
  /** Whether it is ours now; rejects where nobody can be asked. */
  readonly isOurs: () => Promise<boolean>;
  readonly begin: () => { stop(): Promise<void> };
  readonly everyMs: number;
  readonly log?: Log;
}

export interface Watchman {
  stop(): Promise<void>;
}

export function takeTurns({ isOurs, begin, everyMs, log = silent }: WatchmanParts): Watchman {
  let watching: { stop(): Promise<void> } | null = null;
  let stopped = false;
  let working = Promise.resolve();

  async function look(): Promise<void> {
    const ours = await isOurs();
    if (stopped) return;
    if (ours && !watching) {
      watching = begin();
      log.info({}, 'listening to what the broker says of itself');
    } else if (!ours && watching) {
      await watching.stop();
      watching = null;
    }
  }
  const inTurn = (): void => {
    working = working
      .then(look)
      .catch((error) => log.warn({ err: error }, 'whose turn it is to watch the broker could not be asked'));
  };
  inTurn();
  const timer = setInterval(inTurn, everyMs).unref();
  return {
    async stop() {
      stopped = true;
      clearInterval(timer);
      await working;
      await watching?.stop();
    },
  };
}
