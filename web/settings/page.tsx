/** What stands where, and how this device shows it. */
import type { RoomNow } from '../../server/contract/index.ts';
import { Segments } from '../form/segments.tsx';
import { useLive } from '../service/live.ts';
import { Page } from '../shell/page.tsx';
import { Stale, Waiting } from '../shell/waiting.tsx';
import { capital, count, percent, plain } from '../words/numbers.ts';
import { temperatureUnit } from '../words/temperature.ts';
import { FirstSteps } from './first-steps.tsx';
import { GatewayHelp } from './gateway-help.tsx';
import './settings.css';

/** "38 to 52 % wished, 26 % now". */
function airWords({ wishedLowPct, wishedHighPct, now }: RoomNow): string {
  const wished = `${plain(wishedLowPct)} to ${percent(wishedHighPct)} wished`;
  return now === null || now.humidityPct === null ? wished : `${wished}, ${percent(now.humidityPct)} now`;
}

export function SettingsPage() {
  const venues = useLive('venues', {});
  const rooms = useLive('rooms', {}).answer.value;
  const instruments = useLive('instruments', {}).answer.value;
  const listed = venues.answer.value;
  if (!listed || !rooms || !instruments) {
    return (
      <Page title="Settings">
        <Waiting error={venues.error.value} what="what stands where" />
      </Page>
    );
  }
  if (listed.length === 0) {
    return (
      <Page title="First steps" narrow>
        <FirstSteps />
      </Page>
    );
  }
  return (
    <Page title="Settings">
      <h1>What stands where</h1>
      <p class="lead">
        {capital(count(listed.length, 'venue'))}, {count(rooms.length, 'room')},{' '}
        {count(instruments.length, 'instrument')}.
      </p>
      <Stale error={venues.error.value} />
      <p class="beside-venues">
        <a class="button quiet" href="/settings/venues/new">
          Add a venue
        </a>
        <a href="/settings/watch">What the watch goes by</a>
        <a href="/settings/watch-quality">How good the watch is</a>
      </p>
      {listed.map((venue) => (
        <section key={venue.id} class="venue">
          <header>
            <h2>
              <a href={`/settings/venues/${venue.id}`}>{venue.name}</a>
            </h2>
            <span class="quiet">{venue.timeZone.replaceAll('_', ' ')}</span>
            <a class="add" href={`/settings/rooms/new?venue=${venue.id}`}>
              Add a room <span class="unseen">to {venue.name}</span>
            </a>
          </header>
          <ul>
            {rooms
              .filter(({ venueId }) => venueId === venue.id)
              .map((room) => (
                <li key={room.id}>
                  <p>
                    <a href={`/settings/rooms/${room.id}`}>{room.name}</a>{' '}
                    <span class="quiet">{airWords(room)}</span>
                  </p>
                  <ul class="venue-instruments">
                    {instruments
                      .filter(({ roomId }) => roomId === room.id)
                      .map((instrument) => (
                        <li key={instrument.id}>
                          <a href={`/settings/instruments/${instrument.id}`}>{instrument.name}</a>
                        </li>
                      ))}
                    <li>
                      <a class="add" href={`/settings/instruments/new?room=${room.id}`}>
                        Add an instrument <span class="unseen">to {room.name}</span>
                      </a>
                    </li>
                  </ul>
                </li>
              ))}
          </ul>
        </section>
      ))}
      <section class="setting">
        <h2>On this device</h2>
        <Segments
          legend="Temperatures in"
          name="temperature-unit"
          value={temperatureUnit.value}
          choices={[
            ['C', '°C'],
            ['F', '°F'],
          ]}
          onChoose={(unit) => {
            temperatureUnit.value = unit;
          }}
        />
      </section>
      <section class="setting">
        <h2>Another gateway</h2>
        <GatewayHelp />
      </section>
    </Page>
  );
}
