/** All sensors: newcomers that wait for a place first, then how each is doing, then what was set aside. */
import { useRoute } from 'preact-iso';
import type { Sensor } from '../../server/contract/index.ts';
import { useLive } from '../service/live.ts';
import { nowMs } from '../service/now.ts';
import { GatewayHelp } from '../settings/gateway-help.tsx';
import { Page } from '../shell/page.tsx';
import { Stale, Waiting } from '../shell/waiting.tsx';
import { capital, count } from '../words/numbers.ts';
import type { Fleet } from './fleet.ts';
import { health } from './health.ts';
import { Refused } from './refused.tsx';
import { SensorRow } from './row.tsx';
import './sensors.css';

function openingWords(sensors: readonly Sensor[], newcomers: number): { heading: string; rest: string } {
  const silent = sensors.filter((sensor) => sensor.silent).length;
  const weak = sensors.filter(({ batteryPct }) => batteryPct !== null && batteryPct < 15).length;
  const heading =
    newcomers > 0
      ? `${capital(count(newcomers, 'sensor waits', 'sensors wait'))} for a place`
      : silent > 0
        ? `${capital(count(silent, 'sensor'))} ${silent === 1 ? 'has' : 'have'} gone silent`
        : 'All sensors are heard';
  const parts: string[] = [];
  if (newcomers > 0 && silent > 0) {
    parts.push(`${capital(count(silent, 'sensor'))} ${silent === 1 ? 'has' : 'have'} gone silent`);
  }
  if (weak > 0) parts.push(`${capital(count(weak, 'battery', 'batteries'))} should be changed`);
  const odd = sensors.filter(({ signs, silent: gone }) => signs.length > 0 && !gone).length;
  if (odd > 0) parts.push(`${capital(count(odd, 'sensor'))} ${odd === 1 ? 'needs' : 'need'} a look`);
  const well = sensors.length - silent;
  parts.push(
    silent === 0
      ? 'All are heard'
      : `${capital(count(well, 'of', 'of'))} ${sensors.length} ${well === 1 ? 'is' : 'are'} heard as usual`,
  );
  return { heading, rest: `${parts.join('. ')}.` };
}

const OtherWays = () => (
  <>
    <p>
      What it sends in any other shape is set aside until you have said on the{' '}
      <a href="/sensors/bench">decode bench</a> how it is to be read. That holds for all that a gateway sends:
      devices whose messages differ in shape are gateways of their own.
    </p>
    <p>
      What a logger has written to a file is <a href="/sensors/file">brought in</a> as CSV.
    </p>
  </>
);

const AddGateway = () => (
  <details class="more">
    <summary>Add a gateway or a sensor</summary>
    <GatewayHelp />
    <OtherWays />
  </details>
);

export function SensorsPage() {
  const { query } = useRoute();
  const page = useLive('sensors', {});
  const venues = useLive('venues', {}, 60_000).answer.value;
  const rooms = useLive('rooms', {}, 60_000).answer.value;
  const instruments = useLive('instruments', {}, 60_000).answer.value;
  const answer = page.answer.value;
  if (!answer || !venues || !rooms || !instruments) {
    return (
      <Page title="Sensors">
        <Waiting error={page.error.value} what="the sensors" />
      </Page>
    );
  }
  const { sensors, refused } = answer;
  if (sensors.length === 0 && refused.some(({ seen }) => !seen)) {
    return (
      <Page title="Sensors" narrow>
        <h1>Something came in, but no reading yet</h1>
        <p class="lead">Why, and what helps, stands beside each below.</p>
        <Refused tallies={refused} />
        <AddGateway />
      </Page>
    );
  }
  if (sensors.length === 0) {
    return (
      <Page title="Sensors" narrow>
        <h1>No sensor has been heard yet</h1>
        <p class="lead">One shows up here by itself as soon as its first reading has come in.</p>
        <GatewayHelp />
        <OtherWays />
        <Refused tallies={refused} />
      </Page>
    );
  }
  const fleet: Fleet = { venues, rooms, instruments };
  const now = nowMs.value;
  const newcomers = sensors.filter(({ placement }) => placement === null);
  // Those that need a hand come before those that do not; otherwise by place.
  const placed = sensors
    .filter(({ placement }) => placement !== null)
    .map((sensor) => ({ sensor, ails: health(sensor, 'UTC', now).ails }))
    .sort(
      (a, b) =>
        Number(b.ails) - Number(a.ails) ||
        (a.sensor.placedAt ?? '').localeCompare(b.sensor.placedAt ?? '', undefined, { numeric: true }),
    )
    .map(({ sensor }) => sensor);
  const words = openingWords(sensors, newcomers.length);
  const rows = (listed: readonly Sensor[]) =>
    listed.map((sensor) => (
      <SensorRow
        key={sensor.id}
        sensor={sensor}
        fleet={fleet}
        open={query.place === sensor.id}
        successors={newcomers}
      />
    ));
  return (
    <Page title="Sensors">
      <h1>{words.heading}</h1>
      <p class="lead">{words.rest}</p>
      <Stale error={page.error.value} />
      {newcomers.length > 0 && (
        <section class="sensor-group" aria-labelledby="newcomers">
          <h2 id="newcomers">Without a place</h2>
          <ul>{rows(newcomers)}</ul>
        </section>
      )}
      {placed.length > 0 && (
        <section class="sensor-group" aria-labelledby="placed">
          <h2 id="placed">In their places</h2>
          <ul>{rows(placed)}</ul>
        </section>
      )}
      <Refused tallies={refused} />
      <AddGateway />
    </Page>
  );
}
