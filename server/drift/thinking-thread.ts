/** The other side of `thinking.ts`: answers what it is asked, and says why where it cannot. */
import { parentPort } from 'node:worker_threads';
import { inPlace, type Question, type Reply } from './thinking.ts';

parentPort?.on('message', async ({ id, ask, given }: Question) => {
  const answer = inPlace[ask] as (...given: readonly unknown[]) => Promise<unknown>;
  const reply: Reply = await answer(...given).then(
    (value) => ({ id, answer: value }),
    (error: unknown) => ({ id, failed: error instanceof Error ? error.message : String(error) }),
  );
  parentPort?.postMessage(reply);
});
