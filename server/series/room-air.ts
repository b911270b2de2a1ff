/** The air of a room itself, hour by hour and day by day, whatever stands in it; and the air outdoors at a venue. */
import type { TimeSeries } from '../../ingest/index.ts';
import type { PlacedSensor } from '../registry/sensors.ts';
import type { Viewer } from '../registry/viewer.ts';
import { dayMs } from './board-run.ts';
import { type AirSeries, climateOf, hourFloor, hourMs } from './climate.ts';

export interface AirColumns extends AirSeries {
  readonly fromMs: number;
  readonly widthMs: number;
}

const nothing = (length: number): (number | null)[] => Array.from({ length }, () => null);

/** @param toMs the end, a whole bucket: an hour or a day (UTC) */
async function airOf(
  store: TimeSeries,
  viewer: Viewer,
  placed: readonly PlacedSensor[],
  buckets: number,
  toMs: number,
  widthMs: number,
): Promise<AirColumns> {
  const fromMs = toMs - buckets * widthMs;
  const { room } = await climateOf(store, viewer, { room: placed, inside: [] }, fromMs, toMs, widthMs);
  return {
    fromMs,
    widthMs,
    humidityPct: room?.humidityPct ?? nothing(buckets),
    temperatureC: room?.temperatureC ?? nothing(buckets),
  };
}

/** The last so many hours, the one that runs included. */
export const hourlyAir = (
  store: TimeSeries,
  viewer: Viewer,
  placed: readonly PlacedSensor[],
  hours: number,
  nowMs: number,
): Promise<AirColumns> => airOf(store, viewer, placed, hours, hourFloor(nowMs) + hourMs, hourMs);

/** The last so many UTC days, today included. */
export const dailyAir = (
  store: TimeSeries,
  viewer: Viewer,
  placed: readonly PlacedSensor[],
  days: number,
  nowMs: number,
): Promise<AirColumns> => airOf(store, viewer, placed, days, (Math.floor(nowMs / dayMs) + 1) * dayMs, dayMs);

/** Mean of the newest so many entries; null where fewer than `least` of them are known. */
export function meanOfLast(values: readonly (number | null)[], count: number, least: number): number | null {
  const known = values.slice(-count).filter((one) => one !== null);
  return known.length < least || known.length === 0
    ? null
    : known.reduce((sum, one) => sum + one, 0) / known.length;
}
