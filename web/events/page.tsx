/** Events at the venues: when, which pianos, how sure they are, and on what conditions. */
import type { EventAhead } from '../../server/contract/index.ts';
import { Page } from '../shell/page.tsx';
import { Stale, Waiting } from '../shell/waiting.tsx';
import { capital, count } from '../words/numbers.ts';
import { useNames } from '../words/terms.ts';
import { clock, longDay } from '../words/times.ts';
import { useEventsAhead } from './ahead.ts';
import './events.css';

/** Below this the odds are no comfort; said in words on the page. */
const doubtful = 0.7;

function headline(events: readonly EventAhead[]): string {
  if (events.length === 0) return 'No event is planned';
  const odds = events.map((one) => one.tuned ?? one.untuned).filter((one) => one !== null);
  const unsure = odds.filter((one) => one < doubtful).length;
  const all = `${capital(count(events.length, 'event'))} ahead`;
  if (unsure > 0) return `${all}, ${count(unsure, '', '').trim()} of them unsure`;
  if (odds.length < events.length) return `${all}, not all can be told yet`;
  return `${all}, ${events.length === 1 ? '' : 'all '}well in reach if tuned in time`;
}

export function EventsPage() {
  const { answer, error } = useEventsAhead();
  const events = answer.value;
  if (!events) {
    return (
      <Page title="Events">
        <Waiting error={error.value} what="the events" />
      </Page>
    );
  }
  return (
    <Page title="Events">
      <p class="crumbs">
        <a href="/rooms">Rooms</a>
      </p>
      <h1>{headline(events)}</h1>
      <p class="lead">
        The odds say how often each register stays within two cents from its tuning to the event, or, as it
        stands, how often the piano is within its tolerance; as far as the air goes on as it usually does.
      </p>
      <Stale error={error.value} />
      <p class="events-add">
        <a class="button" href="/events/new">
          Enter an event
        </a>
      </p>
      <ul class="events">
        {events.map((event) => (
          <EventRow key={event.id} event={event} />
        ))}
      </ul>
    </Page>
  );
}

function EventRow({ event }: { readonly event: EventAhead }) {
  const asks = event.required ? ` · tuned as for ${useNames[event.required].toLowerCase()} use` : '';
  return (
    <li class="event-row">
      <div>
        <h2>
          <a href={`/events/${event.id}`}>{event.name}</a>
        </h2>
        <p class="quiet">
          {event.venueName} · {longDay(event.startMs, event.timeZone)}, {clock(event.startMs, event.timeZone)}
          {asks}
        </p>
      </div>
      <div>
        <p class="event-odds">{event.sentence}</p>
        <ul class="event-pianos">
          {event.pianos.map((piano) => (
            <li key={piano.id}>
              <a href={`/instruments/${piano.id}`}>{piano.name}</a>, {piano.roomName}
              {piano.sentence !== event.sentence && <>: {piano.sentence}</>}
            </li>
          ))}
        </ul>
      </div>
    </li>
  );
}
