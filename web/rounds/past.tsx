/** Calls that are no longer in any round: declined with a reason, or done by a visit. */
import type { Call, InstrumentSummary, RoundsPage } from '../../server/contract/index.ts';
import { nowMs } from '../service/now.ts';
import { capital } from '../words/numbers.ts';
import { longDay } from '../words/times.ts';
import { takeBack } from './deciding.ts';

export function Declined({ calls }: { readonly calls: readonly Call[] }) {
  if (calls.length === 0) return null;
  return (
    <section class="past" aria-labelledby="declined">
      <h2 id="declined">Declined</h2>
      <ul>
        {calls.map((call) => (
          <li key={call.id}>
            <p>
              <b>{call.place}</b>, {call.kind}: “{call.choice?.reason}”{' '}
              <button
                type="button"
                class="link"
                onClick={() => void takeBack([call], 'Back among the calls.')}
              >
                Take it back<span class="unseen">, {call.place}</span>
              </button>
            </p>
          </li>
        ))}
      </ul>
    </section>
  );
}

interface DoneProps {
  readonly done: RoundsPage['done'];
  readonly instruments: ReadonlyMap<string, InstrumentSummary>;
}

export function Done({ done, instruments }: DoneProps) {
  if (done.length === 0) return null;
  return (
    <section class="past" aria-labelledby="done">
      <h2 id="done">Done in the past month</h2>
      <ul>
        {done.map((one) => (
          <li key={`${one.callId} ${one.visitId}`}>
            <p>
              <a href={`/instruments/${one.instrumentId}`}>{one.place}</a>
            </p>
            <p class="quiet">
              {capital(one.kind)}, done on{' '}
              {longDay(one.doneMs, instruments.get(one.instrumentId)?.timeZone ?? 'UTC', nowMs.value)}. Asked
              for because: {one.why}
            </p>
          </li>
        ))}
      </ul>
    </section>
  );
}
