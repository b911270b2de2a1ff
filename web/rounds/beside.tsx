/** What stands beside the rounds: what is better left, and what venues can do without hands. */
import type { Call, ForVenue } from '../../server/contract/index.ts';
import { Said } from '../marks/said.tsx';
import { nowMs } from '../service/now.ts';
import { longDay } from '../words/times.ts';
import { within } from './heading.ts';

export function BetterToWait({ calls }: { readonly calls: readonly Call[] }) {
  return (
    <section aria-labelledby="wait">
      <h2 id="wait">Better to wait</h2>
      {calls.length === 0 ? (
        <p class="quiet">Nothing gains by waiting just now.</p>
      ) : (
        <ul>
          {calls.map((call) => (
            <li key={call.id}>
              <h3>
                {call.instrumentId ? (
                  <a href={`/instruments/${call.instrumentId}`}>{within(call)}</a>
                ) : (
                  within(call)
                )}
              </h3>
              <p>
                until about {longDay(call.earliestMs, call.timeZone, nowMs.value)}:{' '}
                <Said sentence={call.why} />
              </p>
            </li>
          ))}
        </ul>
      )}
    </section>
  );
}

export function ForTheVenues({ said }: { readonly said: readonly ForVenue[] }) {
  const venues = new Map<string, ForVenue[]>();
  for (const one of said) venues.set(one.venueName, [...(venues.get(one.venueName) ?? []), one]);
  return (
    <section aria-labelledby="for-venues">
      <h2 id="for-venues">For the venues today</h2>
      {said.length === 0 && <p class="quiet">Nothing they could do.</p>}
      <ul>
        {[...venues].map(([venueName, sentences]) => (
          <li key={venueName}>
            <h3>{venueName}</h3>
            {sentences.map(({ sentence, places }) => (
              <p key={sentence}>
                {places.length > 0 && <span class="quiet">{places.join('; ')}: </span>}
                <Said sentence={sentence} />
              </p>
            ))}
          </li>
        ))}
      </ul>
    </section>
  );
}
