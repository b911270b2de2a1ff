/**
 * Buckets by GROUP BY time. A long range in whole hours is answered from the hours kept beside the readings, as far as
 * nothing has arrived since they were kept; the rest, and the hours that the ends of the range cut, from the readings.
 */
import type { SeriesId } from '../reading.ts';
import type { Changes } from './influx-changes.ts';
import { hourMs, keptCursor } from './influx-hours.ts';
import { tagOf } from './influx-series.ts';
import type { InfluxWire } from './influx-wire.ts';
import { within } from './storable.ts';
import type { Rollup, Statistics, TimeSeries } from './time-series.ts';

/** From here on the readings are many enough that asking what has changed costs less than reading them. */
const longRangeMs = 30 * 24 * hourMs;

type Kept = number | null;
interface Sums {
  count: number;
  /** Of hundredths: whole, and so exact. */
  sum: number;
  min: Kept;
  max: Kept;
}

const fromReadings = `count(humidity), sum(humidity), min(humidity), max(humidity),
  count(temperature), sum(temperature), min(temperature), max(temperature) FROM reading`;
const fromHours = `sum(h_count), sum(h_sum), min(h_min), max(h_max),
  sum(t_count), sum(t_sum), min(t_min), max(t_max) FROM hour`;

const keptOr = (value: unknown): Kept => (typeof value === 'number' ? value : null);
const least = (one: Kept, other: Kept): Kept =>
  one === null ? other : other === null ? one : Math.min(one, other);
const most = (one: Kept, other: Kept): Kept =>
  one === null ? other : other === null ? one : Math.max(one, other);

function addTo(sums: Sums, [count, sum, min, max]: readonly unknown[]): void {
  sums.count += keptOr(count) ?? 0;
  sums.sum += keptOr(sum) ?? 0;
  sums.min = least(sums.min, keptOr(min));
  sums.max = most(sums.max, keptOr(max));
}

function statisticsOf(all: readonly Sums[]): Statistics {
  const unkept = (value: Kept): Kept => (value === null ? null : value / 100);
  return {
    count: all.map(({ count }) => count),
    mean: all.map(({ count, sum }) => (count === 0 ? null : sum / count / 100)),
    min: all.map(({ min }) => unkept(min)),
    max: all.map(({ max }) => unkept(max)),
  };
}

export function createBuckets(
  ask: InfluxWire['ask'],
  changes: Pick<Changes, 'changedFrom'>,
  longMs = longRangeMs,
): TimeSeries['buckets'] {
  /** The kept hours of a series before this time stand as its readings do; 0: none do. */
  async function settledBefore(id: SeriesId): Promise<number> {
    const cursor = await keptCursor(ask);
    if (cursor === null) return 0;
    return (await changes.changedFrom(id, cursor)) ?? Number.POSITIVE_INFINITY;
  }

  return async (id, fromMs, toMs, widthMs): Promise<Rollup> => {
    if (!Number.isInteger(widthMs) || widthMs < 1) {
      throw new RangeError(`widthMs must be a whole number of milliseconds above 0, not ${widthMs}`);
    }
    const buckets = new Map<number, readonly [Sums, Sums]>();
    async function take(what: string, from: number, to: number): Promise<void> {
      if (from >= to) return;
      const [table] = await ask(
        `SELECT ${what} WHERE sensor = '${tagOf(id)}' AND time >= ${from}ms AND time < ${to}ms
         GROUP BY time(${widthMs}ms) fill(none)`,
        'ms',
      );
      for (const [start, ...aggregates] of table?.values ?? []) {
        if (typeof start !== 'number') continue;
        const empty = (): Sums => ({ count: 0, sum: 0, min: null, max: null });
        const [humidity, temperature] = buckets.get(start) ?? [empty(), empty()];
        addTo(humidity, aggregates.slice(0, 4));
        addTo(temperature, aggregates.slice(4, 8));
        if (humidity.count + temperature.count > 0) buckets.set(start, [humidity, temperature]);
      }
    }

    const range = within(fromMs, toMs);
    if (range) {
      const { from, to } = range;
      const firstHour = Math.ceil(from / hourMs) * hourMs;
      const long = widthMs % hourMs === 0 && to - from >= longMs;
      const settled = long ? Math.floor(Math.min(to, await settledBefore(id)) / hourMs) * hourMs : 0;
      if (settled > firstHour) {
        await take(fromReadings, from, firstHour);
        await take(fromHours, firstHour, settled);
        await take(fromReadings, settled, to);
      } else {
        await take(fromReadings, from, to);
      }
    }
    const inOrder = [...buckets].toSorted(([one], [other]) => one - other);
    return {
      timesMs: inOrder.map(([start]) => start),
      humidityPct: statisticsOf(inOrder.map(([, [humidity]]) => humidity)),
      temperatureC: statisticsOf(inOrder.map(([, [, temperature]]) => temperature)),
    };
  };
}
