/** Who is told what, and when; where notices are posted besides. */
import { useLive } from '../service/live.ts';
import { nowMs } from '../service/now.ts';
import { Page } from '../shell/page.tsx';
import { Stale, Waiting } from '../shell/waiting.tsx';
import { capital, count } from '../words/numbers.ts';
import { hears, roleWords } from './person-words.ts';
import { Webhooks } from './webhooks.tsx';
import './people.css';

export function PeoplePage() {
  const { answer, error } = useLive('people', {});
  const venues = useLive('venues', {}, 60_000).answer.value ?? [];
  const messages = useLive('messages', {}).answer.value?.messages ?? [];
  const people = answer.value;
  if (!people) {
    return (
      <Page title="People">
        <Waiting error={error.value} what="the people" />
      </Page>
    );
  }
  const nameOf = (id: string) => venues.find((venue) => venue.id === id)?.name ?? 'a venue that is gone';
  const amiss = messages.filter(({ state }) => state === 'stuck' || state === 'refused').length;
  const held = messages.filter(({ state, lastError }) => state === 'waiting' && lastError !== null).length;
  return (
    <Page title="People">
      <h1>
        {people.length === 0
          ? 'Nobody is told anything yet'
          : `${capital(count(people.length, 'person', 'people'))} ${people.length === 1 ? 'is' : 'are'} told`}
      </h1>
      <p class="lead">
        {amiss > 0 ? (
          <>
            <b class="urgent">{capital(count(amiss, 'message'))} did not arrive.</b>{' '}
          </>
        ) : held > 0 ? (
          `${capital(count(held, 'message waits', 'messages wait'))} to be sent. `
        ) : (
          'Few messages, each saying what to do. '
        )}
        <a href="/people/messages">What was sent, and why</a> ·{' '}
        <a href="/people/words">The words of care notes</a>
      </p>
      <Stale error={error.value} />
      <p class="people-add">
        <a class="button quiet" href="/people/new">
          Add a person
        </a>
      </p>
      <ul class="people">
        {people.map((person) => (
          <li key={person.id}>
            <h2>
              <a href={`/people/${person.id}`}>{person.name}</a>
            </h2>
            <p class="quiet">
              {roleWords[person.role]}
              {person.email && ` · ${person.email}`}
            </p>
            <p>{hears(person, nameOf, nowMs.value)}</p>
          </li>
        ))}
      </ul>
      <Webhooks />
    </Page>
  );
}
