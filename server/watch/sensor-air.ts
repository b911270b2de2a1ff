/** What sensors did lately, against each other: the ranges of a window, and week's means of those in one room. */
import type { Statistics, TimeSeries } from '../../ingest/index.ts';
import type { Placement } from '../contract/index.ts';
import type { SensorRow } from '../registry/sensors.ts';
import type { Viewer } from '../registry/viewer.ts';
import { dayMs } from '../series/board-run.ts';
import { hourMs } from '../series/climate.ts';

export interface SensorAir {
  readonly ownRange: {
    readonly humidityPct: number;
    readonly temperatureC: number;
    readonly readings: number;
  } | null;
  readonly weekPct: number | null;
}

/** @param windowHours in which it should have moved; less than two thirds of it heard says nothing */
export async function sensorAir(
  store: TimeSeries,
  viewer: Viewer,
  sensor: SensorRow,
  windowHours: number,
  nowMs: number,
): Promise<SensorAir> {
  const toMs = Math.floor(nowMs / hourMs) * hourMs;
  const fromMs = toMs - Math.max(7 * dayMs, windowHours * hourMs);
  const id = { organisation: viewer.organisationId, sensor: sensor.urn };
  const hours = await store.buckets(id, fromMs, toMs, hourMs);
  const since = toMs - windowHours * hourMs;
  const weekMs = toMs - 7 * dayMs;
  const { timesMs, humidityPct, temperatureC } = hours;
  let [seen, readings, sum, count] = [0, 0, 0, 0];
  for (let i = 0; i < timesMs.length; i++) {
    const timeMs = timesMs[i] ?? 0;
    const mean = humidityPct.mean[i] ?? null;
    if (mean !== null && timeMs >= weekMs) {
      sum += mean;
      count += 1;
    }
    if (timeMs < since) continue;
    seen += 1;
    readings += humidityPct.count[i] ?? 0;
  }
  const first = timesMs.findIndex((timeMs) => timeMs >= since);
  const range = (of: Statistics) => rangeOf(of, first < 0 ? timesMs.length : first);
  const own = { humidityPct: range(humidityPct), temperatureC: range(temperatureC), readings };
  const heard =
    seen >= (windowHours * 2) / 3 && Number.isFinite(own.humidityPct) && Number.isFinite(own.temperatureC);
  return {
    ownRange: heard ? own : null,
    weekPct: count >= 84 ? sum / count : null,
  };
}

/** From an hour on; not finite where nothing was measured. */
function rangeOf({ min, max }: Statistics, from: number): number {
  let [low, high] = [Number.POSITIVE_INFINITY, Number.NEGATIVE_INFINITY];
  for (let i = from; i < min.length; i++) {
    low = Math.min(low, min[i] ?? Number.POSITIVE_INFINITY);
    high = Math.max(high, max[i] ?? Number.NEGATIVE_INFINITY);
  }
  return high - low;
}

export function median(values: readonly number[]): number | null {
  const sorted = [...values].sort((a, b) => a - b);
  return sorted[sorted.length >> 1] ?? null;
}

/** Where a placement stands, so that those side by side can be found; null outdoors, where none is beside another. */
export const spotKey = (placement: Placement): string | null =>
  placement.spot === 'outdoors' ? null : `${placement.spot} ${placement.roomId ?? placement.instrumentId}`;
