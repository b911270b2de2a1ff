/** How many visits are on this device only, beside the word that leads to them: on every page, since a device can be lost. */
import { nowMs } from '../service/now.ts';
import { lasting } from '../words/times.ts';
import { drafts } from './drafts.ts';
import { outbox } from './outbox.ts';
import './unsent.css';

/** Whoever works for a day without a signal needs no alarm; beyond, browsers have been known to clear what they keep. */
const lateMs = 24 * 3_600_000;

export function UnsentCount() {
  const waiting = outbox.value.filter(({ state }) => state !== 'sent');
  const count = drafts.value.length + waiting.length;
  if (count === 0) return null;
  const oldestMs = nowMs.value - Math.min(...waiting.map(({ closedMs }) => closedMs));
  const since = oldestMs > lateMs && Number.isFinite(oldestMs) ? lasting(oldestMs) : null;
  return (
    <span class={since ? 'unsent-count late' : 'unsent-count'}>
      {' '}
      <span class="unseen">: </span>
      {count}
      <span class="unseen"> not sent yet</span>
      {since && ` for ${since}`}
    </span>
  );
}
