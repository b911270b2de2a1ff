/** The visits that are warranted, gathered by venue: why, when, how long. */
import type { Call } from '../../server/contract/index.ts';
import { Cautions } from '../marks/cautions.tsx';
import { Said } from '../marks/said.tsx';
import { Tally } from '../marks/tally.tsx';
import { useLive } from '../service/live.ts';
import { nowMs } from '../service/now.ts';
import { Page } from '../shell/page.tsx';
import { Stale, Waiting } from '../shell/waiting.tsx';
import { capital, count, minutes } from '../words/numbers.ts';
import { urgencyWord } from '../words/terms.ts';
import { span } from '../words/times.ts';
import './calls.css';

export function CallsPage() {
  const { answer, error } = useLive('calls', {});
  const venues = useLive('venues', {}, 60_000).answer.value;
  const calls = answer.value;
  if (!calls || !venues) {
    return (
      <Page title="Calls">
        <Waiting error={error.value} what="the calls" />
      </Page>
    );
  }
  const byVenue = new Map<string, Call[]>();
  for (const call of calls) byVenue.set(call.venueName, [...(byVenue.get(call.venueName) ?? []), call]);
  const zoneOf = (name: string) => venues.find((venue) => venue.name === name)?.timeZone ?? 'UTC';
  const total = calls.reduce((sum, call) => sum + call.minutes, 0);
  return (
    <Page title="Calls">
      <h1>
        {calls.length === 0
          ? 'No visit is warranted today'
          : `${capital(count(calls.length, 'visit is', 'visits are'))} warranted`}
      </h1>
      <p class="lead">
        {calls.length === 0
          ? 'The watch goes on; what begins shows up here.'
          : `${minutes(total)} of work at ${count(byVenue.size, 'venue')}, without the way there.`}
      </p>
      <Stale error={error.value} />
      {[...byVenue].map(([venueName, listed]) => (
        <section key={venueName} class="call-venue">
          <header>
            <h2>{venueName}</h2>
            <span class="quiet">{minutes(listed.reduce((sum, call) => sum + call.minutes, 0))}</span>
          </header>
          <ul>
            {listed.map((call) => (
              <CallRow key={call.id} call={call} timeZone={zoneOf(venueName)} />
            ))}
          </ul>
        </section>
      ))}
    </Page>
  );
}

/** The place without the venue it is listed under. */
function within({ place, venueName }: Call): string {
  return place.startsWith(`${venueName} · `) ? place.slice(venueName.length + 3) : place;
}

function CallRow({ call, timeZone }: { readonly call: Call; readonly timeZone: string }) {
  return (
    <li class="call-row">
      <div class="call-words">
        <h3>
          <Tally value={call.urgency} words={urgencyWord(call.urgency)} />
          {call.instrumentId ? (
            <a href={`/instruments/${call.instrumentId}`}>{within(call)}</a>
          ) : (
            within(call)
          )}
        </h3>
        <p>
          <b>{capital(call.kind)}.</b> <Said sentence={call.why} urgent={call.urgency === 3} />
        </p>
        {call.cautions.length > 0 && (
          <details class="call-cautions">
            <summary>Before you begin</summary>
            <Cautions sentences={call.cautions} />
          </details>
        )}
      </div>
      <p class="call-when">{capital(span(call.earliestMs, call.latestMs, timeZone, nowMs.value))}</p>
      <p class="call-minutes quiet">{minutes(call.minutes)}</p>
    </li>
  );
}
