/** The air outdoors at a venue today: of a sensor that stands there, else of the weather somebody typed. */
import type { TimeSeries } from '../../ingest/index.ts';
import type { Outdoors } from '../contract/index.ts';
import type { PlacedSensor } from '../registry/sensors.ts';
import type { Viewer } from '../registry/viewer.ts';
import { saturationPressurePa } from '../science/index.ts';
import { hourlyAir, meanOfLast } from '../series/room-air.ts';
import type { WeatherDay } from './frost-ahead.ts';

/** Typed weather as one state of the air: mean temperature, and what its dew point holds. */
export function typedOutdoors(today: WeatherDay, tomorrow: WeatherDay | undefined): Outdoors {
  const temperatureC = (today.lowC + today.highC) / 2;
  const humidityPct = (100 * saturationPressurePa(today.dewPointC)) / saturationPressurePa(temperatureC);
  return {
    temperatureC,
    humidityPct: Math.min(100, humidityPct),
    lowC: Math.min(today.lowC, tomorrow?.lowC ?? today.lowC),
    from: 'typed',
  };
}

/** @param days typed for this venue, ascending from today; empty where nobody typed any */
export async function outdoorsAt(
  store: TimeSeries,
  viewer: Viewer,
  placed: readonly PlacedSensor[],
  days: readonly WeatherDay[],
  todayName: string,
  nowMs: number,
): Promise<Outdoors | null> {
  const [today, tomorrow] = days;
  const typed = today && today.day === todayName ? typedOutdoors(today, tomorrow) : null;
  if (placed.length === 0) return typed;
  const air = await hourlyAir(store, viewer, placed, 25, nowMs);
  const temperatureC = meanOfLast(air.temperatureC, 25, 12);
  const humidityPct = meanOfLast(air.humidityPct, 25, 12);
  if (temperatureC === null || humidityPct === null) return typed;
  const coldestC = Math.min(...air.temperatureC.filter((one) => one !== null));
  return { temperatureC, humidityPct, lowC: Math.min(coldestC, typed?.lowC ?? coldestC), from: 'sensor' };
}
