/** One seeded past for a test file: its records, and each sensor's readings as columns. */
import { generate } from '../../demo-data/generate.ts';
import type { World } from '../../demo-data/world.ts';
import type { SeedRecords } from '../../server/seed.ts';

export interface Course {
  readonly timesMs: number[];
  readonly humidityPct: number[];
  readonly temperatureC: number[];
  /** Only where it told its battery. */
  readonly battery: { readonly timeMs: number; readonly pct: number }[];
}

export interface Past {
  readonly world: World;
  readonly records: SeedRecords;
  readonly batches: number;
  readonly largestBatch: number;
  /** By the key of the sensor, such as practice-5/room. */
  course(key: string): Course;
  readonly courses: ReadonlyMap<string, Course>;
}

/** Another seed than the demo runs with, and an end that is not on a whole step. */
export const endMs = Date.UTC(2026, 10, 25, 10, 7);

export function past(seed = 'test', until = endMs, months = 18): Past {
  const demo = generate({ seed, endMs: until, months });
  const keys = new Map(demo.world.sensors.map((sensor) => [sensor.urn, sensor.key]));
  const courses = new Map<string, Course>();
  let batches = 0;
  let largestBatch = 0;
  for (const batch of demo.readings('org')) {
    batches += 1;
    largestBatch = Math.max(largestBatch, batch.length);
    for (const one of batch) {
      const key = keys.get(one.sensor) ?? '';
      let course = courses.get(key);
      if (!course) {
        course = { timesMs: [], humidityPct: [], temperatureC: [], battery: [] };
        courses.set(key, course);
      }
      course.timesMs.push(one.timeMs);
      course.humidityPct.push(one.humidityPct ?? Number.NaN);
      course.temperatureC.push(one.temperatureC ?? Number.NaN);
      if (one.batteryPct !== undefined) course.battery.push({ timeMs: one.timeMs, pct: one.batteryPct });
    }
  }
  return {
    world: demo.world,
    records: demo.records,
    batches,
    largestBatch,
    courses,
    course(key) {
      const found = courses.get(key);
      if (!found) throw new Error(`no readings of ${key}`);
      return found;
    },
  };
}

/** Mean of a column over a span; NaN where there is none. */
export function mean(
  course: Course,
  of: 'humidityPct' | 'temperatureC',
  fromMs: number,
  untilMs: number,
): number {
  let sum = 0;
  let count = 0;
  for (let i = 0; i < course.timesMs.length; i += 1) {
    const timeMs = course.timesMs[i] ?? 0;
    if (timeMs < fromMs || timeMs >= untilMs) continue;
    sum += course[of][i] ?? Number.NaN;
    count += 1;
  }
  return sum / count;
}

/**
 * How far humidity ranges within windows of so many hours, from means of three hours, so that a short spike counts
 * for nothing: median over all windows of a course of hourly values (NaN: unknown).
 */
export function medianRange(hourlyPct: readonly number[], windowHours: number): number {
  const thirds: number[] = [];
  for (let i = 0; i + 3 <= hourlyPct.length; i += 3) {
    thirds.push(hourlyPct.slice(i, i + 3).reduce((sum, one) => sum + one, 0) / 3);
  }
  const width = windowHours / 3 + 1;
  const ranges: number[] = [];
  for (let i = 0; i + width <= thirds.length; i += 1) {
    const window = thirds.slice(i, i + width);
    if (window.every((one) => !Number.isNaN(one))) ranges.push(Math.max(...window) - Math.min(...window));
  }
  ranges.sort((a, b) => a - b);
  return ranges[Math.floor(ranges.length / 2)] ?? Number.NaN;
}

/** Hourly means of a sensor's humidity; NaN for hours without a reading. */
export function hourly(course: Course): number[] {
  const first = Math.floor((course.timesMs[0] ?? 0) / 3_600_000);
  const last = Math.floor((course.timesMs.at(-1) ?? 0) / 3_600_000);
  const sums = new Array<number>(last - first + 1).fill(0);
  const counts = new Array<number>(last - first + 1).fill(0);
  course.timesMs.forEach((timeMs, i) => {
    const hour = Math.floor(timeMs / 3_600_000) - first;
    sums[hour] = (sums[hour] ?? 0) + (course.humidityPct[i] ?? Number.NaN);
    counts[hour] = (counts[hour] ?? 0) + 1;
  });
  return sums.map((sum, hour) => sum / (counts[hour] ?? 0));
}
