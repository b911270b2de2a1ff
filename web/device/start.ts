/** What runs beside every page: the worker, the briefs, the outbox. */
import { startKeepingBriefs } from './briefs.ts';
import { readDrafts } from './drafts.ts';
import { registerWorker } from './new-version.tsx';
import { readOutbox, startSending } from './outbox.ts';

export function startDevice(): void {
  registerWorker();
  void readDrafts().catch(() => undefined);
  void readOutbox().catch(() => undefined);
  // After the page has asked for what it shows.
  setTimeout(() => {
    startKeepingBriefs();
    startSending();
  }, 1500);
}
