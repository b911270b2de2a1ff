/**
 * A long chart from a real InfluxDB: two years of readings every five minutes, day by day, from kept hours, against the
 * same chart from the readings themselves. At least 2 times as fast. Skipped where influxd is not installed.
 */
import { openInfluxReadings, type Reading, startHourKeeper } from '../../ingest/index.ts';
import { startInflux } from '../support/influxd.ts';
import { hasProgram } from '../support/service.ts';

const readings = 2 * 365 * 288;
const everyMs = 300_000;
const dayMs = 86_400_000;
const startMs = Date.UTC(2023, 0, 1);
const endMs = startMs + readings * everyMs;
const id = { organisation: 'o', sensor: 's0' };
const sensors = 10;

function batchOf(sensor: number, from: number): Reading[] {
  return Array.from({ length: Math.min(5_000, readings - from) }, (_, at) => ({
    ...{ organisation: 'o', sensor: `s${sensor}`, timeMs: startMs + (from + at) * everyMs },
    humidityPct: Math.round(4_500 + 1_500 * Math.sin((from + at) / 9_000)) / 100,
    temperatureC: Math.round(2_000 + 500 * Math.cos((from + at) / 7_000)) / 100,
  }));
}

const median = (values: readonly number[]): number =>
  values.toSorted((one, other) => one - other)[Math.floor(values.length / 2)] ?? Number.NaN;

async function medianMs(times: number, work: () => Promise<unknown>): Promise<number> {
  const spent: number[] = [];
  for (let time = 0; time < times; time += 1) {
    const fromMs = performance.now();
    await work();
    spent.push(performance.now() - fromMs);
  }
  return median(spent);
}

async function longChart(): Promise<number> {
  const engine = await startInflux();
  try {
    const place = { origin: engine.origin, database: 'bench' };
    const kept = await openInfluxReadings(place);
    // For this one no range is long enough.
    const raw = await openInfluxReadings(place, { longMs: Number.POSITIVE_INFINITY });
    const fromMs = performance.now();
    for (let sensor = 0; sensor < sensors; sensor += 1) {
      for (let from = 0; from < readings; from += 5_000) await kept.append(batchOf(sensor, from));
    }
    const appendMs = performance.now() - fromMs;
    const keeper = startHourKeeper(place);
    const keptFromMs = performance.now();
    await keeper.keep();
    const keepMs = performance.now() - keptFromMs;
    const chart = (store: typeof kept) => () => store.buckets(id, startMs, endMs, dayMs);
    const rawMs = await medianMs(11, chart(raw));
    const keptMs = await medianMs(11, chart(kept));
    const hourMs = await medianMs(11, () => kept.buckets(id, endMs - 30 * dayMs, endMs, dayMs / 24));
    await keeper.stop();
    await kept.stop();
    await raw.stop();
    const whole = (value: number): string => Math.round(value).toLocaleString('en');
    console.log(
      `InfluxDB, ${sensors} sensors of two years: append ${whole(((sensors * readings) / appendMs) * 1000)} readings/s; keeping all hours anew ${whole(keepMs)} ms`,
    );
    console.log(
      `two years day by day: ${keptMs.toFixed(0)} ms from kept hours, ${rawMs.toFixed(0)} ms from the readings; ratio ${(rawMs / keptMs).toFixed(1)} (at least 2); thirty days hour by hour ${hourMs.toFixed(0)} ms`,
    );
    return rawMs / keptMs;
  } finally {
    await engine.stop();
  }
}

if (hasProgram('influxd') && (await longChart()) < 2) process.exitCode = 1;
