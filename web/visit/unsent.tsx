/** Visits that wait on this device: said where one would look for them. */
import type { InstrumentSummary } from '../../server/contract/index.ts';
import { capital, count } from '../words/numbers.ts';
import { keptDrafts } from './draft.ts';

export function Unsent({ instruments }: { readonly instruments: readonly InstrumentSummary[] }) {
  const waiting = keptDrafts().flatMap((draft) => {
    const instrument = instruments.find(({ id }) => id === draft.instrumentId);
    return instrument ? [{ draft, instrument }] : [];
  });
  if (waiting.length === 0) return null;
  return (
    <p class="unsent">
      {capital(count(waiting.length, 'visit is', 'visits are'))} on this device, not sent yet:{' '}
      {waiting.map(({ draft, instrument }, i) => (
        <span key={draft.id}>
          {i > 0 && ', '}
          <a
            href={`/instruments/${instrument.id}/visit${draft.corrects === null ? '' : `?corrects=${draft.corrects}`}`}
          >
            {instrument.roomName} · {instrument.name}
          </a>
        </span>
      ))}
      .
    </p>
  );
}
