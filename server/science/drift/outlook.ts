/** What could have been known at a past moment of the days to come: the climate cut off there, fitted and drawn as it is today. */
import { type AirSeries, moistureAt, moistureCourse } from './board-lag.ts';
import type { Outlook } from './look-back.ts';
import { boardNow, drawPaths } from './paths.ts';
import { seededRandom } from './random.ts';
import type { PastInterval } from './rivals.ts';
import { dailyMeans, roomClimate } from './room-climate.ts';

const msPerDay = 86_400_000;

/** Days of climate before a tuning and an origin without which nothing is said. */
const fewestDays = 30;

/**
 * @param air the instrument's whole climate; nothing at or after the origin is used
 * @returns null where too little was known by then
 */
export function outlookAt(
  air: AirSeries,
  interval: PastInterval,
  originMs: number,
  lagDays: readonly number[],
  lagWeights: readonly number[],
  options: { count?: number; seed?: number } = {},
): Outlook | null {
  const { count = 200, seed = 1 } = options;
  const { fromMs, toMs } = interval.observation;
  const steps = Math.floor((Math.floor(originMs / msPerDay) * msPerDay - air.startMs) / air.stepMs);
  if (steps * air.stepMs < fewestDays * msPerDay) return null;
  const cut = (values: ArrayLike<number | null>) =>
    Array.prototype.slice.call(values, 0, steps) as (number | null)[];
  const known: AirSeries = {
    startMs: air.startMs,
    stepMs: air.stepMs,
    temperatureC: cut(air.temperatureC),
    humidityPct: cut(air.humidityPct),
  };
  const course = moistureCourse(known, lagDays);
  const own = dailyMeans(known);
  const climate = roomClimate({ own });
  const humidityPct = lastKnown(own.humidityPct);
  const before = valueNear(own.temperatureC, Math.floor((fromMs - own.startMs) / msPerDay));
  if (humidityPct === null || before === null) return null;
  const days = Math.floor((toMs - climate.humidity.nextMs) / msPerDay) + 1;
  const paths = drawPaths(climate, boardNow(course), lagWeights, days, count, seededRandom(seed));
  const moistureChangePct = new Float64Array(count);
  const temperatureChangeC = new Float64Array(count);
  for (let k = 0; k < count; k++) {
    const end = (k + 1) * days - 1;
    moistureChangePct[k] =
      (paths.moisturePct[end] as number) - moistureAt(course, paths.lagOf[k] as number, fromMs);
    temperatureChangeC[k] = (paths.temperatureC[end] as number) - before;
  }
  if (moistureChangePct.some(Number.isNaN)) return null;
  return { moistureChangePct, temperatureChangeC, humidityPct };
}

function lastKnown(values: ArrayLike<number | null>): number | null {
  return valueNear(values, values.length - 1);
}

/** The value of a day, or of the last day before it that has one. */
function valueNear(values: ArrayLike<number | null>, day: number): number | null {
  for (let i = Math.min(day, values.length - 1); i >= 0; i--) {
    const value = values[i] ?? Number.NaN;
    if (!Number.isNaN(value)) return value;
  }
  return null;
}
