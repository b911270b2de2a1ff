/** The same world, now: what each sensor says at this moment, going on where the past ended. */
import type { Reading } from '../ingest/index.ts';
import { dayMs, stepMs } from './clock.ts';
import { readingsBetween, simulateSensors } from './generate.ts';
import { type Sensed, type SensorCourse, sensedAt } from './sensor-course.ts';
import type { World } from './world.ts';

/** How far the world is run ahead at a time. */
const aheadMs = dayMs;

export interface Live {
  /** In a fixed order. */
  readonly urns: readonly string[];
  /** null while the sensor is silent. */
  at(index: number, timeMs: number): Sensed | null;
  /** The readings on the usual steps that nobody has sent since. */
  missed(organisation: string, fromMs: number, untilMs: number): Iterable<Reading[]>;
}

/** @param nowMs the world is run until a day after; it is run again, further, when that day is over. */
export function live(world: World, nowMs: number): Live {
  let reachMs = 0;
  let courses: SensorCourse[] = [];
  const reach = (timeMs: number): void => {
    if (timeMs + 2 * stepMs < reachMs) return;
    reachMs = timeMs + aheadMs;
    courses = [...simulateSensors(world, reachMs)];
  };
  reach(nowMs);
  return {
    urns: courses.map((course) => course.sensor.urn),
    at(index, timeMs) {
      reach(timeMs);
      const course = courses[index];
      return course ? sensedAt(course, timeMs) : null;
    },
    missed: (organisation, fromMs, untilMs) => readingsBetween(world, organisation, fromMs, untilMs),
  };
}
