/** The present, for words like "40 s ago": one clock for the whole page, slow enough to read by. */
import { signal } from '@preact/signals';

export const nowMs = signal(Date.now());

setInterval(() => {
  if (document.visibilityState === 'visible') nowMs.value = Date.now();
}, 5000);
document.addEventListener('visibilitychange', () => {
  nowMs.value = Date.now();
});
