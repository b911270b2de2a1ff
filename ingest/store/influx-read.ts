/** Reads readings, buckets and changes by InfluxQL, which 1.x and the compatible endpoint of 2.x both speak. */
import type { SeriesId } from '../reading.ts';
import { seriesOf, tagOf } from './influx-series.ts';
import type { InfluxTable, InfluxWire } from './influx-wire.ts';
import { endOfTimeMs } from './storable.ts';
import type { Columns, Rollup, Statistics, TimeSeries } from './time-series.ts';

const rowsAtOnce = 20_000;
/**
 * A request that arrived earlier may show later: by as much as the engine's own write time-out (10 s), or as it was
 * frozen in between. Looking this far back costs one count.
 */
const overlap = '10m';

const numberOr = <Else>(value: unknown, otherwise: Else): number | Else =>
  typeof value === 'number' ? value : otherwise;
const unkept = (value: unknown): number | null => (typeof value === 'number' ? value / 100 : null);
const emptyStatistics = (): Statistics => ({ count: [], mean: [], min: [], max: [] });

/** What the engine can look at: whole milliseconds from 1970 on; null where nothing is between. */
function within(fromMs: number, toMs: number): { from: number; to: number } | null {
  const from = Math.max(0, Math.ceil(fromMs));
  const to = Math.min(endOfTimeMs, Math.ceil(toMs));
  return from < to ? { from, to } : null;
}

export function createReader({ ask }: InfluxWire): Pick<TimeSeries, 'read' | 'buckets' | 'changedSince'> {
  async function read(id: SeriesId, fromMs: number, toMs: number): Promise<Columns> {
    const columns: Columns = { timesMs: [], humidityPct: [], temperatureC: [], batteryPct: [] };
    const range = within(fromMs, toMs);
    for (let from = range?.from ?? 0, more = range !== null; more && range; ) {
      const [table] = await ask(
        `SELECT humidity, temperature, battery FROM reading WHERE sensor = '${tagOf(id)}'
         AND time >= ${from}ms AND time < ${range.to}ms ORDER BY time LIMIT ${rowsAtOnce}`,
        'ms',
      );
      const rows = table?.values ?? [];
      for (const [time, humidity, temperature, battery] of rows) {
        if (typeof time !== 'number') continue;
        columns.timesMs.push(time);
        columns.humidityPct.push(unkept(humidity));
        columns.temperatureC.push(unkept(temperature));
        columns.batteryPct.push(unkept(battery));
        from = time + 1;
      }
      more = rows.length === rowsAtOnce;
    }
    return columns;
  }

  async function buckets(id: SeriesId, fromMs: number, toMs: number, widthMs: number): Promise<Rollup> {
    if (!Number.isInteger(widthMs) || widthMs < 1) {
      throw new RangeError(`widthMs must be a whole number of milliseconds above 0, not ${widthMs}`);
    }
    const rollup = {
      timesMs: [] as number[],
      humidityPct: emptyStatistics(),
      temperatureC: emptyStatistics(),
    };
    const range = within(fromMs, toMs);
    if (!range) return rollup;
    const [table] = await ask(
      `SELECT count(humidity), sum(humidity), min(humidity), max(humidity),
         count(temperature), sum(temperature), min(temperature), max(temperature)
       FROM reading WHERE sensor = '${tagOf(id)}' AND time >= ${range.from}ms AND time < ${range.to}ms
       GROUP BY time(${widthMs}ms) fill(none)`,
      'ms',
    );
    for (const [start, ...aggregates] of table?.values ?? []) {
      const counts = [numberOr(aggregates[0], 0), numberOr(aggregates[4], 0)];
      if (typeof start !== 'number' || counts.every((count) => count === 0)) continue;
      rollup.timesMs.push(start);
      for (const [at, of] of [rollup.humidityPct, rollup.temperatureC].entries()) {
        const [count, sum, min, max] = aggregates.slice(at * 4, at * 4 + 4);
        const counted = numberOr(count, 0);
        of.count.push(counted);
        // Sums of hundredths are whole numbers, exact on both sides.
        of.mean.push(counted === 0 ? null : numberOr(sum, 0) / counted / 100);
        of.min.push(counted === 0 ? null : unkept(min));
        of.max.push(counted === 0 ? null : unkept(max));
      }
    }
    return rollup;
  }

  const firstCell = ([table]: InfluxTable[], column: number): unknown => table?.values[0]?.[column];
  const arrivals = async (where: string): Promise<number> =>
    numberOr(firstCell(await ask(`SELECT count("from") FROM arrived WHERE ${where}`, 'exact'), 1), 0);
  const lately = (top: string): string => `time > '${top}' - ${overlap} AND time <= '${top}'`;

  /**
   * The cursor is the engine's time of the newest arrival, and how many arrived in the minutes up to it. If that count
   * has grown by the next time, an earlier one has come to show, and those minutes are told again.
   *
   * In this order: an arrival that shows between the count and the list is told now or makes the next count differ.
   */
  async function changedSince(cursor: string | null): ReturnType<TimeSeries['changedSince']> {
    const newest = firstCell(await ask('SELECT "from" FROM arrived ORDER BY time DESC LIMIT 1', 'exact'), 0);
    if (typeof newest !== 'string') return { cursor: 'none', series: [] };
    const count = await arrivals(lately(newest));
    const told = /^(\d{4}-[\dT:.-]+Z)\/(\d+)$/.exec(cursor ?? '');
    let since = '';
    if (told?.[1]) {
      const [, top, countThen] = told;
      // A cursor of another database points at nothing here, and one of a restored backup beyond its end.
      if ((await arrivals(`time = '${top}'`)) > 0) {
        const same = (await arrivals(lately(top))) === Number(countThen);
        since = same ? `time > '${top}' AND` : `time > '${top}' - ${overlap} AND`;
      }
    }
    const tables = await ask(
      `SELECT min("from") FROM arrived WHERE ${since} time <= '${newest}' GROUP BY sensor`,
      'exact',
    );
    const series = tables.flatMap((table) => {
      const id = seriesOf(table.tags.sensor ?? '');
      const fromMs = table.values[0]?.[1];
      return id && typeof fromMs === 'number' ? [{ id, fromMs }] : [];
    });
    return { cursor: `${newest}/${count}`, series };
  }

  return { read, buckets, changedSince };
}
