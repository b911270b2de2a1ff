/** Keeps the briefs of the fleet on the device, so that a sheet opens where there is no signal. */
import { call } from '../service/call.ts';
import { keepBriefs } from './store.ts';

const everyMs = 10 * 60_000;

export async function refreshBriefs(): Promise<void> {
  await keepBriefs(await call('visitBriefs', {}));
}

export function startKeepingBriefs(): void {
  const soon = () => void refreshBriefs().catch(() => undefined);
  soon();
  window.addEventListener('online', soon);
  setInterval(() => {
    if (document.visibilityState === 'visible') soon();
  }, everyMs);
}
