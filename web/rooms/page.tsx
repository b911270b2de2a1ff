/** All rooms, for whoever looks after them: what to do today first, then how each has been. */
import type { RoomToday } from '../../server/contract/index.ts';
import { Cautions } from '../marks/cautions.tsx';
import { Said } from '../marks/said.tsx';
import { useLive } from '../service/live.ts';
import { Page } from '../shell/page.tsx';
import { Stale, Waiting } from '../shell/waiting.tsx';
import { Answers } from './answers.tsx';
import { headline } from './headline.ts';
import { HumidityKey } from './humidity-key.tsx';
import { RoomCard } from './room-card.tsx';
import './rooms.css';
import { Ticked } from './ticked.tsx';

interface VenueGroup {
  readonly id: string;
  readonly name: string;
  readonly rooms: readonly RoomToday[];
}

const collator = new Intl.Collator(undefined, { numeric: true, sensitivity: 'base' });

const asks = ({ today }: RoomToday) => Number(today.state !== 'fit') + Number(today.task);
/** The rooms that ask for something first. */
const byNeed = (rooms: readonly RoomToday[]): RoomToday[] =>
  rooms.toSorted((a, b) => asks(b) - asks(a) || collator.compare(a.name, b.name));

function grouped(rooms: readonly RoomToday[]): VenueGroup[] {
  const groups = new Map<string, RoomToday[]>();
  for (const room of rooms) groups.set(room.venueId, [...(groups.get(room.venueId) ?? []), room]);
  return [...groups].map(([id, members]) => ({
    id,
    name: members[0]?.venueName ?? '',
    rooms: byNeed(members),
  }));
}

export function RoomsPage() {
  const { answer, error } = useLive('roomsToday', {}, 60_000);
  const notices = useLive('notices', { query: { over: 'no' } }, 60_000).answer.value ?? [];
  const rooms = answer.value;
  if (!rooms) {
    return (
      <Page title="Rooms">
        <Waiting error={error.value} what="the rooms" />
      </Page>
    );
  }
  const frosts = notices.filter((one) => one.rule === 'frost-ahead');
  const venues = grouped(rooms);
  const houses = venues.filter((venue) => venue.rooms.length > 1);
  // A home has one room: a heading for each would be most of the page.
  const single = byNeed(venues.filter((venue) => venue.rooms.length === 1).flatMap((venue) => venue.rooms));
  const cautions = [...new Set(rooms.flatMap(({ today }) => today.cautions))];
  return (
    <Page title="Rooms">
      <h1>{headline(rooms)}</h1>
      {rooms.length === 0 && (
        <p class="lead">
          <a href="/settings">Enter a venue and its rooms</a>, and place a sensor in each.
        </p>
      )}
      {frosts.map((one) => (
        <p key={one.id} class="frost">
          <Said sentence={one.toVenue || `${one.what} ${one.toDo}`} />{' '}
          <a href={`/venues/${one.venueId}/weather`}>Which pianos</a>
        </p>
      ))}
      <Stale error={error.value} />
      <p class="rooms-nav">
        <a href="/events">Events and how sure they are</a>
        <HumidityKey />
      </p>
      {houses.map((venue) => (
        <section key={venue.id} class="room-venue" aria-labelledby={`venue-${venue.id}`}>
          <header>
            <h2 id={`venue-${venue.id}`}>{venue.name}</h2>
            <VenueLinks id={venue.id} name={venue.name} />
          </header>
          <ul class="room-cards">
            {venue.rooms.map((room) => (
              <RoomCard key={room.id} room={room} />
            ))}
          </ul>
        </section>
      ))}
      {single.length > 0 && (
        <section class="room-venue" aria-labelledby="single-rooms">
          <header>
            <h2 id="single-rooms">{houses.length > 0 ? 'Elsewhere, one room each' : 'One room each'}</h2>
          </header>
          <ul class="room-cards">
            {single.map((room) => (
              <RoomCard key={room.id} room={room}>
                <VenueLinks id={room.venueId} name={room.venueName} />
              </RoomCard>
            ))}
          </ul>
        </section>
      )}
      <Cautions sentences={cautions} />
      <Answers />
      <Ticked />
    </Page>
  );
}

function VenueLinks({ id, name }: { readonly id: string; readonly name: string }) {
  return (
    <span class="room-venue-links">
      <a href={`/venues/${id}/weather`}>
        Weather to come <span class="unseen">at {name}</span>
      </a>
      <a href={`/venues/${id}/tasks`}>
        Task link <span class="unseen">of {name}</span>
      </a>
    </span>
  );
}
