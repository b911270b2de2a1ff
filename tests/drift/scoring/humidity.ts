/** Scores the forecast of daily mean humidity thirty days ahead from rolling origins, beside persistence and last year's month. */
import { type DailyAir, drawCourse, roomClimate } from '../../../server/science/drift/index.ts';
import { sortedQuantile } from '../../../server/science/drift/quantile.ts';
import { seededRandom } from '../../../server/science/drift/random.ts';

const msPerDay = 86_400_000;
const aheadDays = 30;
const paths = 400;

export interface ScoredDay {
  readonly originDay: number;
  readonly isCovered: boolean;
  readonly error: number;
  readonly persistence: number;
  readonly lastYear: number;
}

export function scoreHumidity(air: DailyAir, firstOrigin: number, everyDays: number): ScoredDay[] {
  const { startMs } = air;
  const humidity = Float64Array.from(air.humidityPct, (value) => value ?? Number.NaN);
  const temperature = Float64Array.from(air.temperatureC, (value) => value ?? Number.NaN);
  const scored: ScoredDay[] = [];
  for (let origin = firstOrigin; origin + aheadDays < humidity.length; origin += everyDays) {
    const found = humidity[origin + aheadDays] as number;
    const last = lastKnown(humidity, origin);
    const year = monthMean(humidity, startMs, origin + aheadDays, origin);
    if (Number.isNaN(found) || Number.isNaN(last) || Number.isNaN(year)) continue;
    // Nothing from the origin on is passed in.
    const known = {
      startMs,
      humidityPct: humidity.slice(0, origin),
      temperatureC: temperature.slice(0, origin),
    };
    const { humidity: course } = roomClimate({ own: known });
    const drawn = drawCourse(course, aheadDays + 1, paths, seededRandom(origin));
    const values = Float64Array.from(
      { length: paths },
      (_, k) => drawn[k * (aheadDays + 1) + aheadDays] as number,
    ).sort();
    scored.push({
      originDay: origin,
      isCovered: found >= sortedQuantile(values, 0.1) && found <= sortedQuantile(values, 0.9),
      error: Math.abs(found - sortedQuantile(values, 0.5)),
      persistence: Math.abs(found - last),
      lastYear: Math.abs(found - year),
    });
  }
  return scored;
}

function lastKnown(values: Float64Array, before: number): number {
  for (let i = before - 1; i >= 0; i--) if (!Number.isNaN(values[i] as number)) return values[i] as number;
  return Number.NaN;
}

/** Mean over the calendar month of a year before the day, of what was known at the origin. */
function monthMean(values: Float64Array, startMs: number, day: number, origin: number): number {
  const target = new Date(startMs + day * msPerDay);
  let sum = 0;
  let known = 0;
  for (let i = 0; i < origin; i++) {
    const date = new Date(startMs + i * msPerDay);
    if (date.getUTCMonth() !== target.getUTCMonth() || date.getUTCFullYear() !== target.getUTCFullYear() - 1)
      continue;
    const value = values[i] as number;
    if (Number.isNaN(value)) continue;
    sum += value;
    known++;
  }
  return known === 0 ? Number.NaN : sum / known;
}

export interface HumidityScore {
  readonly days: number;
  readonly coverage: number;
  readonly error: number;
  readonly overPersistence: number;
  readonly overLastYear: number;
}

export function summary(scored: readonly ScoredDay[]): HumidityScore {
  const mean = (of: (day: ScoredDay) => number) =>
    scored.reduce((sum, day) => sum + of(day), 0) / scored.length;
  const error = mean((day) => day.error);
  return {
    days: scored.length,
    coverage: mean((day) => (day.isCovered ? 1 : 0)),
    error,
    overPersistence: error / mean((day) => day.persistence),
    overLastYear: error / mean((day) => day.lastYear),
  };
}

/** Range that holds nine of ten resamplings of whole rooms: the origins of one share its walls and its weather. */
export function roomInterval(
  rooms: readonly (readonly ScoredDay[])[],
  of: (score: HumidityScore) => number,
): [number, number] {
  const random = seededRandom(78);
  const values = Array.from({ length: 500 }, () =>
    of(summary(rooms.flatMap(() => rooms[Math.floor(random.uniform() * rooms.length)] ?? []))),
  ).sort((a, b) => a - b);
  return [sortedQuantile(values, 0.05), sortedQuantile(values, 0.95)];
}

/** Range that holds nine of ten resamplings of whole blocks of origins: neighbours share their weather. */
export function blockInterval(
  series: readonly (readonly ScoredDay[])[],
  of: (score: HumidityScore) => number,
  block = 4,
): [number, number] {
  const random = seededRandom(77);
  const values = Array.from({ length: 500 }, () =>
    of(
      summary(
        series.flatMap((scored) => {
          const blocks = Math.ceil(scored.length / block);
          return Array.from({ length: blocks }, () => {
            // Around the end to the beginning, so that no origin is drawn less often than another.
            const from = Math.floor(random.uniform() * scored.length);
            return Array.from({ length: block }, (__, i) => scored[(from + i) % scored.length] as ScoredDay);
          }).flat();
        }),
      ),
    ),
  ).sort((a, b) => a - b);
  return [sortedQuantile(values, 0.05), sortedQuantile(values, 0.95)];
}
