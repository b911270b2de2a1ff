/**
 * Reads readings, buckets and changes. SQLite holds the thread while it works, so long answers are made in pieces
 * with a breath for everything else between them.
 */
import { setImmediate as breathe } from 'node:timers/promises';
import type { Database } from 'better-sqlite3';
import type { SeriesId } from '../reading.ts';
import { hourMs } from './sqlite-append.ts';
import { seriesIn } from './sqlite-series.ts';
import type { Columns, Rollup, Statistics, TimeSeries } from './time-series.ts';

type Kept = number | null;
/** start, then count, sum, min, max of humidity and of temperature. */
type BucketRow = [number, number, number, Kept, Kept, number, number, Kept, Kept];

const rowsAtOnce = 10_000;
const hoursAtOnce = 10_000;
/** Readings one step of `buckets` looks at, at most, if they come once a minute. */
const stepMs = 10 * 24 * hourMs;

const unkept = (value: Kept): Kept => (value === null ? null : value / 100);
const emptyStatistics = (): Statistics => ({ count: [], mean: [], min: [], max: [] });

function addStatistics(to: Statistics, count: number, sum: number, min: Kept, max: Kept): void {
  const last = to.count.length - 1;
  to.count[last] = (to.count[last] ?? 0) + count;
  // `mean` carries the sum until every piece is in.
  to.mean[last] = (to.mean[last] ?? 0) + sum;
  if (min !== null) to.min[last] = Math.min(to.min[last] ?? min, min);
  if (max !== null) to.max[last] = Math.max(to.max[last] ?? max, max);
}

function finishStatistics(of: Statistics): void {
  for (const [index, count] of of.count.entries()) {
    of.mean[index] = count === 0 ? null : (of.mean[index] ?? 0) / count / 100;
    of.min[index] = unkept(of.min[index] ?? null);
    of.max[index] = unkept(of.max[index] ?? null);
  }
}

/** Hours as they are kept; the usual question of a fleet, asked of one hour at a time. */
function rollupOfHours(rows: readonly BucketRow[]): Rollup {
  const heard = rows.filter((row) => row[1] + row[5] > 0);
  const statistics = (count: 1 | 5, sum: 2 | 6, min: 3 | 7, max: 4 | 8): Statistics => ({
    count: heard.map((row) => row[count]),
    mean: heard.map((row) => (row[count] === 0 ? null : row[sum] / row[count] / 100)),
    min: heard.map((row) => unkept(row[min])),
    max: heard.map((row) => unkept(row[max])),
  });
  return {
    timesMs: heard.map((row) => row[0]),
    humidityPct: statistics(1, 2, 3, 4),
    temperatureC: statistics(5, 6, 7, 8),
  };
}

const statisticsOf = (prefix: string): string =>
  `sum(${prefix}_count), sum(${prefix}_sum), min(${prefix}_min), max(${prefix}_max)`;
const statisticsOver = (column: string): string =>
  `count(${column}), coalesce(sum(${column}), 0), min(${column}), max(${column})`;

export function prepareReader(db: Database): Pick<TimeSeries, 'read' | 'buckets' | 'changedSince'> {
  const series = seriesIn(db);
  const rows = db
    .prepare<[number, number, number], [number, Kept, Kept, Kept]>(
      `select time, humidity, temperature, battery from reading
       where series = ? and time >= ? and time < ? order by time limit ${rowsAtOnce}`,
    )
    .raw();
  const fromHours = db
    .prepare<{ series: number; from: number; to: number; width: number }, BucketRow>(
      `select hour - hour % cast(:width as integer) as start, ${statisticsOf('h')}, ${statisticsOf('t')}
       from hourly where series = :series and hour >= :from and hour < :to group by start order by start`,
    )
    .raw();
  const eachHour = db
    .prepare<[number, number, number], BucketRow>(
      `select hour, h_count, h_sum, h_min, h_max, t_count, t_sum, t_min, t_max
       from hourly where series = ? and hour >= ? and hour < ? order by hour`,
    )
    .raw();
  const fromRows = db
    .prepare<{ series: number; from: number; to: number; width: number }, BucketRow>(
      `select time - time % cast(:width as integer) as start,
         ${statisticsOver('humidity')}, ${statisticsOver('temperature')}
       from reading where series = :series and time >= :from and time < :to group by start order by start`,
    )
    .raw();
  const hoursHeld = db
    .prepare<{ series: number }, [Kept, Kept]>(
      `select (select min(hour) from hourly where series = :series), (select max(hour) from hourly where series = :series)`,
    )
    .raw();
  const fileId = String(db.prepare('select id from file').pluck().get());
  const lastSeq = db.prepare<[], number>('select coalesce(max(seq), 0) from hourly').pluck();
  const everyFirst = db
    .prepare<[], [string, string, number]>(
      `select organisation, sensor, (select min(hour) from hourly where series = id) as first
       from series where first is not null`,
    )
    .raw();
  const changedHours = db
    .prepare<[number, number, number, number, number], [number, number, number]>(
      `select seq, series, hour from hourly where (seq, series, hour) > (?, ?, ?) and seq > ? and seq <= ?
       order by seq, series, hour limit ${hoursAtOnce}`,
    )
    .raw();

  async function read(id: SeriesId, fromMs: number, toMs: number): Promise<Columns> {
    const columns: Columns = { timesMs: [], humidityPct: [], temperatureC: [], batteryPct: [] };
    const number = series.numberOf(id);
    if (number === undefined) return columns;
    for (let next = fromMs; ; ) {
      const piece = rows.all(number, next, toMs);
      for (const [time, humidity, temperature, battery] of piece) {
        columns.timesMs.push(time);
        columns.humidityPct.push(unkept(humidity));
        columns.temperatureC.push(unkept(temperature));
        columns.batteryPct.push(unkept(battery));
        next = time + 1;
      }
      if (piece.length < rowsAtOnce) return columns;
      await breathe();
    }
  }

  async function buckets(id: SeriesId, fromMs: number, toMs: number, widthMs: number): Promise<Rollup> {
    if (!Number.isInteger(widthMs) || widthMs < 1) {
      throw new RangeError(`widthMs must be a whole number of milliseconds above 0, not ${widthMs}`);
    }
    const number = series.numberOf(id);
    if (number !== undefined && widthMs === hourMs && fromMs % hourMs === 0 && toMs % hourMs === 0) {
      return rollupOfHours(eachHour.all(number, fromMs, toMs));
    }
    const rollup = {
      timesMs: [] as number[],
      humidityPct: emptyStatistics(),
      temperatureC: emptyStatistics(),
    };
    if (number === undefined || !(fromMs < toMs)) return rollup;

    function take(piece: readonly BucketRow[]): void {
      for (const [start, hCount, hSum, hMin, hMax, tCount, tSum, tMin, tMax] of piece) {
        if (hCount + tCount === 0) continue;
        if (rollup.timesMs.at(-1) !== start) {
          rollup.timesMs.push(start);
          for (const { count, mean, min, max } of [rollup.humidityPct, rollup.temperatureC]) {
            count.push(0);
            mean.push(null);
            min.push(null);
            max.push(null);
          }
        }
        addStatistics(rollup.humidityPct, hCount, hSum, hMin, hMax);
        addStatistics(rollup.temperatureC, tCount, tSum, tMin, tMax);
      }
    }

    async function takeRows(from: number, to: number): Promise<void> {
      for (let at = from; at < to; at += stepMs) {
        take(fromRows.all({ series: number ?? 0, from: at, to: Math.min(at + stepMs, to), width: widthMs }));
        if (at + stepMs < to) await breathe();
      }
    }

    // Whole hours come from the roll-ups; the hours cut by the ends of the range from their readings.
    const firstHour = Math.ceil(fromMs / hourMs) * hourMs;
    const lastHour = Math.floor(toMs / hourMs) * hourMs;
    if (widthMs % hourMs === 0 && firstHour < lastHour) {
      await takeRows(fromMs, firstHour);
      take(fromHours.all({ series: number, from: firstHour, to: lastHour, width: widthMs }));
      await takeRows(lastHour, toMs);
    } else {
      const bounds = hoursHeld.get({ series: number });
      await takeRows(Math.max(fromMs, bounds?.[0] ?? 0), Math.min(toMs, (bounds?.[1] ?? 0) + hourMs));
    }
    finishStatistics(rollup.humidityPct);
    finishStatistics(rollup.temperatureC);
    return rollup;
  }

  async function changedSince(cursor: string | null): ReturnType<TimeSeries['changedSince']> {
    const top = lastSeq.get() ?? 0;
    const after = seqOf(cursor);
    // A cursor of another file, or from beyond this one's end (a restored backup), starts over: early, never late.
    if (after === null || after > top) {
      const series = everyFirst
        .all()
        .map(([organisation, sensor, fromMs]) => ({ id: { organisation, sensor }, fromMs }));
      return { cursor: `${fileId}.${top}`, series };
    }
    // An hour that changes again while this looks moves above `top`, and is told next time.
    const earliest = new Map<number, number>();
    for (let [seq, number, hour] = [after + 1, 0, -1]; ; ) {
      const piece = changedHours.all(seq, number, hour, after, top);
      for ([seq, number, hour] of piece) {
        earliest.set(number, Math.min(hour, earliest.get(number) ?? hour));
      }
      if (piece.length < hoursAtOnce) break;
      await breathe();
    }
    const changed: { id: SeriesId; fromMs: number }[] = [];
    for (const [number, fromMs] of earliest) {
      const id = series.named(number);
      if (id) changed.push({ id, fromMs });
    }
    return { cursor: `${fileId}.${top}`, series: changed };
  }

  function seqOf(cursor: string | null): number | null {
    if (!cursor?.startsWith(`${fileId}.`)) return null;
    const seq = Number(cursor.slice(fileId.length + 1));
    return Number.isInteger(seq) && seq >= 0 ? seq : null;
  }

  return { read, buckets, changedSince };
}
