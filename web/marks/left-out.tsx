/** Says which readings a chart leaves out as in doubt, sensor by sensor, and where they can be looked at. */
import type { LeftOut } from '../../server/contract/index.ts';
import { capital, count } from '../words/numbers.ts';
import { moments } from '../words/times.ts';

interface LeftOutProps {
  readonly leftOut: readonly LeftOut[];
  readonly timeZone: string;
}

interface OfSensor {
  readonly sensorId: string;
  readonly urn: string;
  readonly readings: number;
  readonly fromMs: number;
  readonly untilMs: number;
}

function bySensor(leftOut: readonly LeftOut[]): OfSensor[] {
  const sensors = new Map<string, OfSensor>();
  for (const { sensorId, urn, readings, fromMs, untilMs } of leftOut) {
    const before = sensors.get(sensorId);
    sensors.set(sensorId, {
      ...{ sensorId, urn },
      readings: readings + (before?.readings ?? 0),
      fromMs: Math.min(fromMs, before?.fromMs ?? fromMs),
      untilMs: Math.max(untilMs, before?.untilMs ?? untilMs),
    });
  }
  return [...sensors.values()];
}

export function LeftOutWords({ leftOut, timeZone }: LeftOutProps) {
  return (
    <>
      {bySensor(leftOut).map((one) => (
        <span key={one.sensorId} class="left-out-words">
          {capital(count(one.readings, 'reading'))} of {moments(one.fromMs, one.untilMs, timeZone)}{' '}
          {one.readings === 1 ? 'is' : 'are'} left out as in doubt: {one.readings === 1 ? 'it' : 'they'}{' '}
          jumped and came back.{' '}
          <a href={`/sensors/doubts/${one.sensorId}`}>
            Look at what <code class="urn">{one.urn}</code> sent
          </a>
        </span>
      ))}
    </>
  );
}
