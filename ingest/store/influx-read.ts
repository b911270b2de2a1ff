/** Reads readings, buckets and changes by InfluxQL, which 1.x and the compatible endpoint of 2.x both speak. */
import type { SeriesId } from '../reading.ts';
import { createBuckets } from './influx-buckets.ts';
import { createChanges } from './influx-changes.ts';
import { tagOf } from './influx-series.ts';
import type { InfluxWire } from './influx-wire.ts';
import { within } from './storable.ts';
import type { Columns, TimeSeries } from './time-series.ts';

const rowsAtOnce = 20_000;

/** Values are kept as hundredths. */
const unkept = (value: unknown): number | null => (typeof value === 'number' ? value / 100 : null);

export function createReader(
  { ask }: InfluxWire,
  longMs?: number,
): Pick<TimeSeries, 'read' | 'buckets' | 'changedSince'> {
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

  const changes = createChanges(ask);
  return { read, buckets: createBuckets(ask, changes, longMs), changedSince: changes.changedSince };
}
