import type { Sensor } from '../../server/contract/index.ts';
import { nowMs } from '../service/now.ts';
import { capital, count, percent } from '../words/numbers.ts';
import { nearDay } from '../words/times.ts';
import { type Fleet, zoneOf } from './fleet.ts';
import { health, lastValue } from './health.ts';
import { PlaceForm } from './place-form.tsx';

interface SensorRowProps {
  readonly sensor: Sensor;
  readonly fleet: Fleet;
  readonly open: boolean;
  readonly successors: readonly Sensor[];
}

export function SensorRow({ sensor, fleet, open, successors }: SensorRowProps) {
  const timeZone = zoneOf(sensor, fleet);
  const now = nowMs.value;
  const { ails, sentences } = health(sensor, timeZone, now);
  const { placement } = sensor;
  return (
    <li class="sensor-row" id={`sensor-${sensor.id}`}>
      <div class="sensor-where">
        <h3>
          {placement?.instrumentId ? (
            <a href={`/instruments/${placement.instrumentId}`}>{sensor.placedAt}</a>
          ) : (
            (sensor.placedAt ?? `First heard ${nearDay(sensor.firstSeenMs, timeZone, now)}`)
          )}
        </h3>
        <p class="quiet">
          <code class="urn">{sensor.urn}</code>
        </p>
      </div>
      <p class={sensor.silent ? 'sensor-value quiet' : 'sensor-value'}>{lastValue(sensor)}</p>
      <p class="sensor-health">
        {ails && <strong class="urgent">Look: </strong>}
        {sentences.join(' ')}
        {sensor.leftOut > 0 && (
          <>
            {' '}
            <a href={`/sensors/doubts/${sensor.id}`}>
              {capital(count(sensor.leftOut, 'reading'))} left out<span class="unseen"> of {sensor.urn}</span>
            </a>
          </>
        )}
      </p>
      <p class="sensor-battery quiet">
        {sensor.batteryPct === null ? 'battery not said' : `battery ${percent(sensor.batteryPct)}`}
      </p>
      <p class="sensor-act">
        {open ? (
          <a class="button quiet" href="/sensors">
            Close
          </a>
        ) : (
          <a class="button quiet" href={`/sensors?place=${sensor.id}`}>
            {placement ? 'Move' : 'Place'}
            <span class="unseen"> {sensor.urn}</span>
          </a>
        )}
        <a class="sensor-calibrate" href={`/sensors/calibrate/${sensor.id}`}>
          Put right<span class="unseen"> {sensor.urn}</span>
        </a>
      </p>
      {open && <PlaceForm sensor={sensor} fleet={fleet} successors={successors} />}
    </li>
  );
}
