/** What sensors said since the watch last looked: newcomers get a row, the others their last word. */
import { setImmediate as breathe } from 'node:timers/promises';
import type { Columns, SeriesId, TimeSeries } from '../../ingest/index.ts';
import type { Database } from '../db/database.ts';
import { noteSensors, type SensorNews, type SensorRow } from '../registry/sensors.ts';
import type { Viewer } from '../registry/viewer.ts';
import { dayMs } from '../series/board-run.ts';
import { hourMs } from '../series/climate.ts';

/** A sensor that came with years of past readings is known by its last days; its first are not needed here. */
const lookBackMs = 3 * dayMs;
/** Sensors to a commit, which costs more than what it writes; others get their turn more often. */
const atOnce = 2500;
const readAtOnce = 500;

/** @returns the rows of the sensors that spoke, as they are now. */
export async function noteArrivals(
  db: Database,
  store: TimeSeries,
  viewer: Viewer,
  changed: readonly { readonly id: SeriesId; readonly fromMs: number }[],
  nowMs: number,
): Promise<SensorRow[]> {
  const rows: SensorRow[] = [];
  for (let i = 0; i < changed.length; i += atOnce) {
    const news: SensorNews[] = [];
    for (const [k, one] of changed.slice(i, i + atOnce).entries()) {
      const said = await newsOf(store, one, nowMs);
      if (said) news.push(said);
      if (k % readAtOnce === 0) await breathe();
    }
    rows.push(...(await noteSensors(db, viewer, news)));
    await breathe();
  }
  return rows;
}

async function newsOf(
  store: TimeSeries,
  { id, fromMs }: { readonly id: SeriesId; readonly fromMs: number },
  nowMs: number,
): Promise<SensorNews | null> {
  const recent = await store.read(id, Math.max(fromMs, nowMs - lookBackMs), nowMs + dayMs);
  const columns = recent.timesMs.length > 0 ? recent : await lastSaid(store, id, fromMs, nowMs);
  const lastMs = columns.timesMs.at(-1);
  if (lastMs === undefined) return null;
  return {
    urn: id.sensor,
    firstMs: Math.min(fromMs, columns.timesMs[0] ?? fromMs),
    lastMs,
    humidityPct: columns.humidityPct.findLast((one) => one !== null) ?? null,
    temperatureC: columns.temperatureC.findLast((one) => one !== null) ?? null,
    batteryPct: columns.batteryPct.findLast((one) => one !== null) ?? null,
    intervalMs: usualInterval(columns.timesMs),
  };
}

/** The last days of a sensor that has been silent for long: where they lie, its kept hours tell. */
async function lastSaid(store: TimeSeries, id: SeriesId, fromMs: number, nowMs: number): Promise<Columns> {
  const hours = await store.buckets(id, fromMs, nowMs + dayMs, hourMs);
  const lastMs = (hours.timesMs.at(-1) ?? fromMs) + hourMs;
  return store.read(id, Math.max(fromMs, lastMs - lookBackMs), lastMs);
}

/** Median of the steps between readings; null until there are enough of them to tell. */
export function usualInterval(timesMs: readonly number[]): number | null {
  const steps = timesMs.slice(1).map((timeMs, i) => timeMs - (timesMs[i] ?? timeMs));
  if (steps.length < 5) return null;
  steps.sort((a, b) => a - b);
  return steps[Math.floor(steps.length / 2)] ?? null;
}
