/** Visits that are on this device and not sent: said where one would look for them. */
import type { InstrumentSummary } from '../../server/contract/index.ts';
import { capital, count } from '../words/numbers.ts';
import { addressOf, drafts } from './drafts.ts';
import { outbox } from './outbox.ts';
import './unsent.css';

export function Unsent({ instruments }: { readonly instruments: readonly InstrumentSummary[] }) {
  const written = drafts.value.map((draft) => ({ ...draft, address: addressOf(draft) }));
  const waiting = outbox.value
    .filter(({ state }) => state !== 'sent')
    .map((entry) => ({ ...entry, address: '/device' }));
  const shown = [...written, ...waiting].flatMap(({ id, instrumentId, address }) => {
    const instrument = instruments.find((one) => one.id === instrumentId);
    return instrument ? [{ id, address, instrument }] : [];
  });
  if (shown.length === 0) return null;
  return (
    <p class="unsent">
      {capital(count(shown.length, 'visit is', 'visits are'))} on this device, not sent yet:{' '}
      {shown.map(({ id, address, instrument }, i) => (
        <span key={id}>
          {i > 0 && ', '}
          <a href={address}>
            {instrument.roomName} · {instrument.name}
          </a>
        </span>
      ))}
      .
    </p>
  );
}
