/** What sensors did lately, against each other: the ranges of a window, and week's means of those in one room. */
import type { TimeSeries } from '../../ingest/index.ts';
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
  let seen = 0;
  let readings = 0;
  const [low, high] = [
    [Number.POSITIVE_INFINITY, Number.POSITIVE_INFINITY],
    [Number.NEGATIVE_INFINITY, Number.NEGATIVE_INFINITY],
  ];
  let [sum, count] = [0, 0];
  hours.timesMs.forEach((timeMs, i) => {
    const mean = hours.humidityPct.mean[i] ?? null;
    if (mean !== null && timeMs >= toMs - 7 * dayMs) [sum, count] = [sum + mean, count + 1];
    if (timeMs < since) return;
    seen += 1;
    readings += hours.humidityPct.count[i] ?? 0;
    for (const [k, quantity] of [hours.humidityPct, hours.temperatureC].entries()) {
      low[k] = Math.min(low[k] ?? 0, quantity.min[i] ?? Number.POSITIVE_INFINITY);
      high[k] = Math.max(high[k] ?? 0, quantity.max[i] ?? Number.NEGATIVE_INFINITY);
    }
  });
  const [humidityPct = Number.NaN, temperatureC = Number.NaN] = low.map((one, k) => (high[k] ?? 0) - one);
  const heard =
    seen >= (windowHours * 2) / 3 && Number.isFinite(humidityPct) && Number.isFinite(temperatureC);
  return {
    ownRange: heard ? { humidityPct, temperatureC, readings } : null,
    weekPct: count >= 84 ? sum / count : null,
  };
}

export function median(values: readonly number[]): number | null {
  const sorted = [...values].sort((a, b) => a - b);
  return sorted[sorted.length >> 1] ?? null;
}

/** Where a placement stands, so that those side by side can be found; null outdoors, where none is beside another. */
export const spotKey = (placement: Placement): string | null =>
  placement.spot === 'outdoors' ? null : `${placement.spot} ${placement.roomId ?? placement.instrumentId}`;
