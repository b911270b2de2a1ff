/** What runs beside every page: the worker, the briefs, the outbox. */
import { startKeepingBriefs } from './briefs.ts';
import { registerWorker } from './new-version.tsx';
import { startSending } from './outbox.ts';

export function startDevice(): void {
  registerWorker();
  // After the page has asked for what it shows.
  setTimeout(() => {
    startKeepingBriefs();
    startSending();
  }, 1500);
}
