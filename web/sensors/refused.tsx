/** What was set aside and why: nothing that was sent is thrown away unseen. */
import type { RefusedTally } from '../../server/contract/index.ts';
import { useSending } from '../form/sending.ts';
import { call } from '../service/call.ts';
import { refresh } from '../service/live.ts';
import { nowMs } from '../service/now.ts';
import { lasting } from '../words/times.ts';
import { wordsFor } from './reason-words.ts';

function benchAddress({ gateway, reason }: RefusedTally): string {
  const query = new URLSearchParams({ ...(gateway === null ? {} : { gateway }), reason });
  return `/sensors/bench?${query}`;
}

export function Refused({ tallies }: { readonly tallies: readonly RefusedTally[] }) {
  if (tallies.length === 0) return null;
  const [fresh, seen] = [tallies.filter((one) => !one.seen), tallies.filter((one) => one.seen)];
  const total = fresh.reduce((sum, { count }) => sum + count, 0);
  return (
    <section class="refused" aria-labelledby="refused">
      <h2 id="refused">Set aside</h2>
      {total === 0 ? (
        <p class="quiet">All of it is seen.</p>
      ) : (
        <p>
          {total === 1 ? 'One message or value' : `${total} messages or values`} could not be taken. Each is
          kept as it came; the rest of its pack was stored.
        </p>
      )}
      <Tallies of={fresh} />
      {seen.length > 0 && (
        <details class="more">
          <summary>Seen before ({seen.length})</summary>
          <Tallies of={seen} />
        </details>
      )}
    </section>
  );
}

const Tallies = ({ of }: { readonly of: readonly RefusedTally[] }) => (
  <ul>
    {of.map((tally) => (
      <Tally key={`${tally.gateway} ${tally.reason}`} tally={tally} />
    ))}
  </ul>
);

function Tally({ tally }: { readonly tally: RefusedTally }) {
  const { gateway, reason, count, lastMs, seen } = tally;
  const { why, helps, onBench } = wordsFor(reason);
  const sending = useSending('Not marked');
  const from = gateway ?? 'sender not known';
  const mark = () =>
    sending.send(async () => {
      await call('seeRefused', { body: { gateway, reason, untilMs: seen ? null : lastMs } });
      await refresh();
    });
  return (
    <li>
      <p>
        <strong>{why}.</strong> {helps}
      </p>
      <p class="quiet">
        {from} · {count === 1 ? 'once' : `${count} times`}, last {lasting(nowMs.value - lastMs)} ago:{' '}
        {tally.sentence}
      </p>
      <p class="refused-acts">
        {onBench && gateway !== null && (
          <a href={benchAddress(tally)}>
            Look at them on the bench
            <span class="unseen">
              : {why}, {from}
            </span>
          </a>
        )}
        <button type="button" class="link" disabled={sending.busy} onClick={() => void mark()}>
          {seen ? 'Not seen yet' : 'Mark as seen'}
          <span class="unseen">
            : {why}, {from}
          </span>
        </button>
        {sending.trouble && <span role="alert">{sending.trouble}</span>}
      </p>
    </li>
  );
}
