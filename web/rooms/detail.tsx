/** One room: what to do, how it stands, its last day, its year, how much water it takes, what its past was. */
import { useRoute } from 'preact-iso';
import type { RoomDetail as Answer } from '../../server/contract/index.ts';
import { useEventsAhead } from '../events/ahead.ts';
import '../instrument/instrument.css';
import { Cautions } from '../marks/cautions.tsx';
import { Said } from '../marks/said.tsx';
import { useLive } from '../service/live.ts';
import { Page } from '../shell/page.tsx';
import { Stale, Waiting } from '../shell/waiting.tsx';
import { againstBand, bandWords } from '../words/humidity.ts';
import { percent, plain } from '../words/numbers.ts';
import { degrees } from '../words/temperature.ts';
import { clock, longDay, nearDay } from '../words/times.ts';
import { HeatMap } from './heat-map.tsx';
import { LastDay } from './last-day.tsx';
import './rooms.css';
import { Water } from './water.tsx';

export function RoomDetailPage() {
  const { params } = useRoute();
  const { answer, error } = useLive('roomDetail', { params: { id: params.id ?? '' } }, 60_000);
  if (!answer.value) {
    return (
      <Page title="Room">
        <Waiting error={error.value} what="the room" />
      </Page>
    );
  }
  return <Shown key={answer.value.id} room={answer.value} error={error.value} />;
}

function Shown({ room, error }: { readonly room: Answer; readonly error: Error | null }) {
  const { today, borrowedFrom } = room;
  return (
    <Page title={`${room.name}, ${room.venueName}`}>
      <div class="room-detail">
        <p class="crumbs">
          <a href="/rooms">Rooms</a> · {room.venueName}
        </p>
        <h1>{room.name}</h1>
        <div class="opening">
          <div>
            <p class="advice">
              <Said sentence={today.sentence} />
            </p>
            {today.also.map((one) => (
              <p key={one} class="to-do">
                <Said sentence={one} />
              </p>
            ))}
            <p class="quiet">{today.because}</p>
            {borrowedFrom !== null && (
              <p class="quiet">
                No sensor stands here. All figures below are borrowed from {borrowedFrom}, and may be off by
                some points.
              </p>
            )}
            {today.doneMs !== null && (
              <p class="quiet">Ticked today at {clock(today.doneMs, room.timeZone)}.</p>
            )}
          </div>
          <nav class="acts" aria-label="What you can do here">
            <a class="button quiet" href={`/settings/rooms/${room.id}`}>
              Edit its entry
            </a>
          </nav>
          <Cautions sentences={today.cautions} />
        </div>
        <Stale error={error} />
        <Facts room={room} />
        <LastDay room={room} />
        <HeatMap room={room} />
        <Water room={room} />
        <Past room={room} />
        <Here room={room} />
      </div>
    </Page>
  );
}

function Facts({ room }: { readonly room: Answer }) {
  const { now, lastDay, lastMonth, timeZone } = room;
  const share = (within: number | null) => (within === null ? 'not measured' : percent(100 * within));
  return (
    <dl class="room-facts">
      <div>
        <dt>Now</dt>
        <dd>
          <b>{now === null || now.humidityPct === null ? 'no reading' : percent(now.humidityPct)}</b>
          {now !== null && (
            <span>
              {now.humidityPct === null ? '' : `${againstBand(now.humidityPct, room)}, `}
              {now.temperatureC === null ? '' : `${degrees(now.temperatureC)}, `}
              {nearDay(now.timeMs, timeZone)}
            </span>
          )}
        </dd>
      </div>
      <div>
        <dt>Wished</dt>
        <dd>
          <b>{bandWords(room)}</b>
          <span>relative humidity</span>
        </dd>
      </div>
      <div>
        <dt>Last day within</dt>
        <dd>
          <b>{share(lastDay.within)}</b>
          <span>of its hours</span>
        </dd>
      </div>
      <div>
        <dt>Last 30 days within</dt>
        <dd>
          <b>{share(lastMonth.within)}</b>
          <span>of {lastMonth.hours} hours measured</span>
        </dd>
      </div>
    </dl>
  );
}

function Past({ room }: { readonly room: Answer }) {
  const { past } = room;
  if (past === null) return null;
  return (
    <section class="room-section" aria-labelledby="past">
      <h2 id="past">What the wood here is used to</h2>
      <p>
        At this time of the year {plain(past.lowPct)} to {percent(past.highPct)}, after its own past of a year
        and more (EN 15757); {percent(past.meanPct)} on the mean of it.
      </p>
      {past.caution !== null && (
        <p>
          <b>{past.caution}</b>
        </p>
      )}
    </section>
  );
}

function Here({ room }: { readonly room: Answer }) {
  const ids = new Set(room.instruments.map((one) => one.id));
  const events = (useEventsAhead().answer.value ?? []).filter((event) =>
    event.instrumentIds.some((id) => ids.has(id)),
  );
  return (
    <section class="room-section" aria-labelledby="here">
      <h2 id="here">What stands and happens here</h2>
      {room.instruments.length === 0 && <p>No piano is entered here.</p>}
      <ul>
        {room.instruments.map((one) => (
          <li key={one.id}>
            <a href={`/instruments/${one.id}`}>{one.name}</a>
          </li>
        ))}
      </ul>
      {events.length === 0 ? (
        <p class="quiet">
          No event is entered. <a href={`/events/new?venue=${room.venueId}`}>Enter one</a>
        </p>
      ) : (
        <ul>
          {events.map((event) => (
            <li key={event.id}>
              <p>
                <a href={`/events/${event.id}`}>{event.name}</a>, {longDay(event.startMs, event.timeZone)},{' '}
                {clock(event.startMs, event.timeZone)}. {event.sentence}
              </p>
            </li>
          ))}
        </ul>
      )}
    </section>
  );
}
