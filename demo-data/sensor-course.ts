/** The readings of one sensor, from the air it hung in: step by step for the past, at any moment for live running. */
import type { Reading } from '../ingest/index.ts';
import type { Air } from './building.ts';
import { stepMs } from './clock.ts';
import {
  arrives,
  batteryPct,
  isLost,
  type SensorFaults,
  type SensorNature,
  sensedHumidityPct,
  sensedTemperatureC,
  sensorFaults,
  sensorNature,
  stepsPerDay,
} from './sensing.ts';
import type { SensorRow, Spot } from './sensors.ts';
import type { VenueAir, World } from './world.ts';

/** About the stretch one transaction of the readings' store takes at best. */
const batchSize = 8192;

export interface SensorCourse {
  readonly sensor: SensorRow;
  readonly nature: SensorNature;
  readonly faults: SensorFaults;
  readonly originMs: number;
  readonly air: VenueAir;
}

export function sensorCourse(world: World, sensor: SensorRow, air: VenueAir): SensorCourse {
  const newMs = sensor.stays[0]?.fromMs ?? world.startMs;
  return {
    sensor,
    nature: sensorNature(world.anchor.seed, sensor.key, newMs),
    faults: sensorFaults(world.faults, sensor),
    originMs: world.originMs,
    air,
  };
}

function airAt(spot: Spot, air: VenueAir): Air {
  const found =
    spot.kind === 'room'
      ? air.rooms.get(spot.room)
      : spot.kind === 'inside'
        ? air.inside.get(spot.instrument)
        : air.outdoors;
  if (!found) throw new Error(`No air was simulated for a sensor at ${JSON.stringify(spot)}`);
  return found;
}

/**
 * The readings with fromMs <= time < untilMs, ascending, in batches of some thousands.
 * @throws Error when the simulated air does not reach so far.
 */
export function* readings(
  course: SensorCourse,
  organisation: string,
  fromMs: number,
  untilMs: number,
): Generator<Reading[]> {
  const { sensor, nature, faults, originMs } = course;
  const stepOf = (timeMs: number): number => Math.ceil((timeMs - originMs - nature.phaseMs) / stepMs);
  let batch: Reading[] = [];
  for (const stay of sensor.stays) {
    const { humidityPct, temperatureC } = airAt(stay.spot, course.air);
    const stop = stepOf(Math.min(untilMs, stay.untilMs));
    if (stop > humidityPct.length) throw new Error('The simulated air ends before the readings asked for');
    const stuckStep = stepOf(faults.stuckFromMs);
    for (let n = stepOf(Math.max(fromMs, stay.fromMs)); n < stop; n += 1) {
      const timeMs = originMs + n * stepMs + nature.phaseMs;
      if (!arrives(faults, timeMs) || isLost(nature, n)) continue;
      const said = timeMs >= faults.stuckFromMs && timeMs < faults.stuckUntilMs ? stuckStep : n;
      const reading = {
        organisation,
        sensor: sensor.urn,
        timeMs,
        humidityPct: sensedHumidityPct(nature, humidityPct[said] ?? 0, said),
        temperatureC: sensedTemperatureC(nature, temperatureC[said] ?? 0, said),
      };
      const tellsBattery = n % stepsPerDay === nature.batteryStep;
      batch.push(
        tellsBattery ? { ...reading, batteryPct: batteryPct(nature, timeMs, faults.flatMs) } : reading,
      );
      if (batch.length === batchSize) {
        yield batch;
        batch = [];
      }
    }
  }
  if (batch.length > 0) yield batch;
}

/** Times of the first and the last reading of a sensor before a time, without simulating any air. */
export function heardBetween(
  world: World,
  sensor: SensorRow,
  untilMs: number,
): { readonly firstMs: number; readonly lastMs: number } {
  const startMs = sensor.stays[0]?.fromMs ?? world.startMs;
  const nature = sensorNature(world.anchor.seed, sensor.key, startMs);
  const faults = sensorFaults(world.faults, sensor);
  const timeOf = (n: number): number => world.originMs + n * stepMs + nature.phaseMs;
  const heard = (n: number): boolean => arrives(faults, timeOf(n)) && !isLost(nature, n);
  let first = Math.ceil((startMs - world.originMs - nature.phaseMs) / stepMs);
  while (!heard(first) && timeOf(first) < untilMs) first += 1;
  let last = Math.ceil((untilMs - world.originMs - nature.phaseMs) / stepMs) - 1;
  while (!heard(last) && last > first) last -= 1;
  return { firstMs: timeOf(first), lastMs: timeOf(last) };
}

export interface Sensed {
  readonly humidityPct: number;
  readonly temperatureC: number;
}

/**
 * What the sensor says at any moment: between two steps on the straight line that joins them, so that live running
 * goes on where the past ends. null while it is silent.
 */
export function sensedAt(course: SensorCourse, timeMs: number): Sensed | null {
  const { sensor, nature, faults, originMs } = course;
  const stay = sensor.stays.find((one) => timeMs >= one.fromMs && timeMs < one.untilMs);
  if (!stay || !arrives(faults, timeMs)) return null;
  const { humidityPct, temperatureC } = airAt(stay.spot, course.air);
  const stuck = timeMs >= faults.stuckFromMs && timeMs < faults.stuckUntilMs;
  const place = (timeMs - originMs - nature.phaseMs) / stepMs;
  const n = stuck ? Math.ceil((faults.stuckFromMs - originMs - nature.phaseMs) / stepMs) : Math.floor(place);
  const along = stuck ? 0 : place - n;
  const index = stuck ? n : Math.floor(timeMs / 1000);
  const between = (values: Float64Array): number => {
    const [before, after] = [values[n], values[n + 1]];
    if (before === undefined || after === undefined) throw new Error('The simulated air ends before now');
    return before + (after - before) * along;
  };
  return {
    humidityPct: sensedHumidityPct(nature, between(humidityPct), index),
    temperatureC: sensedTemperatureC(nature, between(temperatureC), index),
  };
}
