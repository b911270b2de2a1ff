/** The whole invented past: records first, then the readings, sensor by sensor, so that memory stays flat. */
import type { Reading } from '../ingest/index.ts';
import type { SeedRecords } from '../server/seed.ts';
import { stepMs } from './clock.ts';
import { records } from './records.ts';
import { readings, type SensorCourse, sensorCourse } from './sensor-course.ts';
import { type Anchor, simulate, type World, world } from './world.ts';

export interface Demo {
  readonly world: World;
  readonly records: SeedRecords;
  /** One sensor's contiguous stretch a batch, some thousands each. */
  readings(organisation: string): Iterable<Reading[]>;
}

/**
 * @param anchor.endMs end of the past, rounded down to a whole step
 * @param anchor.seed the same seed and end give the same demo, to the last digit
 */
export function generate(anchor: Anchor): Demo {
  const here = world(anchor);
  const { endMs } = here.anchor;
  return {
    world: here,
    records: records(here),
    readings: (organisation) => readingsBetween(here, organisation, here.startMs, endMs),
  };
}

/** How many readings there would be if none were lost: for a progress bar. */
export function expectedReadings({ sensors, anchor }: World): number {
  return sensors.reduce(
    (sum, sensor) => sum + Math.ceil((anchor.endMs - (sensor.stays[0]?.fromMs ?? anchor.endMs)) / stepMs),
    0,
  );
}

/** Every sensor with the air it hangs in, simulated at least until a time; memory holds one venue at a time. */
export function* simulateSensors(here: World, untilMs: number): Generator<SensorCourse> {
  const hasSensor = new Set(
    here.sensors.flatMap(({ stays }) =>
      stays.flatMap(({ spot }) => (spot.kind === 'inside' ? [spot.instrument] : [])),
    ),
  );
  for (const air of simulate(here, untilMs, (row) => hasSensor.has(row.key))) {
    for (const sensor of here.sensors) {
      if (sensor.venue === air.venue.key) yield sensorCourse(here, sensor, air);
    }
  }
}

/** The readings of every sensor with fromMs <= time < untilMs: the past, or a gap since then. */
export function* readingsBetween(
  here: World,
  organisation: string,
  fromMs: number,
  untilMs: number,
): Generator<Reading[]> {
  for (const course of simulateSensors(here, untilMs)) yield* readings(course, organisation, fromMs, untilMs);
}
