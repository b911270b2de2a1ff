/** What stands beside the rounds: what is better left, and what venues can do without hands. */
import type { Call, RoomToday } from '../../server/contract/index.ts';
import { Said as SaidWords } from '../marks/said.tsx';
import { useLive } from '../service/live.ts';
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
                <SaidWords sentence={call.why} />
              </p>
            </li>
          ))}
        </ul>
      )}
    </section>
  );
}

/** Rooms of one venue for which the same is to be done today. */
interface Said {
  readonly rooms: readonly RoomToday[];
  readonly today: RoomToday['today'];
}

function saidAt(rooms: readonly RoomToday[]): [venueName: string, said: Said[]][] {
  const venues = new Map<string, Map<string, Said>>();
  for (const room of rooms) {
    if (!room.today.task) continue;
    const said = venues.get(room.venueName) ?? new Map<string, Said>();
    const known = said.get(room.today.sentence)?.rooms ?? [];
    said.set(room.today.sentence, { rooms: [...known, room], today: room.today });
    venues.set(room.venueName, said);
  }
  return [...venues].map(([venueName, said]) => [venueName, [...said.values()]]);
}

export function ForTheVenues() {
  const { answer, error } = useLive('roomsToday', {}, 60_000);
  const rooms = answer.value;
  const venues = saidAt(rooms ?? []);
  return (
    <section aria-labelledby="for-venues">
      <h2 id="for-venues">For the venues today</h2>
      {rooms ? (
        venues.length === 0 && <p class="quiet">Nothing they would have to do.</p>
      ) : (
        <p class="quiet">{error.value ? error.value.message : 'Reading what they can do …'}</p>
      )}
      <ul>
        {venues.map(([venueName, said]) => (
          <li key={venueName}>
            <h3>{venueName}</h3>
            {said.map(({ rooms: at, today }) => (
              <p key={today.sentence}>
                {at.map((room, i) => (
                  <span key={room.id}>
                    {i > 0 && ', '}
                    <a href={`/rooms/${room.id}`}>{room.name}</a>
                  </span>
                ))}
                : <SaidWords sentence={today.sentence} />
                {at.every((room) => room.today.doneMs !== null) && <b> Done today.</b>}
              </p>
            ))}
          </li>
        ))}
      </ul>
    </section>
  );
}
