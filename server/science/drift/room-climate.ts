/**
 * What is known of a room's climate, and where its seasons were learned. A year of its own is best; before that, in this order,
 * the other rooms of the venue, an outdoor sensor through the moisture balance, the fleet's rooms, and in the end only what rooms
 * are like. The source is named, so that a screen can say what a forecast rests on.
 */
import { absoluteHumidityGm3, saturationPressurePa, vapourPressurePa } from '../air.ts';
import type { AirSeries } from './board-lag.ts';
import { type CourseHabits, type DailyCourse, fitCourse, type SeasonPrior } from './daily-course.ts';

const msPerDay = 86_400_000;

/** Daily means (UTC days); null or NaN in gaps. */
export interface DailyAir {
  readonly startMs: number;
  readonly temperatureC: ArrayLike<number | null>;
  readonly humidityPct: ArrayLike<number | null>;
}

export type ClimateSource =
  | 'own history'
  | 'rooms of the venue'
  | 'outdoor sensor'
  | 'rooms of the fleet'
  | 'rooms in general';

export interface RoomClimate {
  readonly humidity: DailyCourse;
  readonly temperature: DailyCourse;
  readonly source: ClimateSource;
  /** The source in a sentence. */
  readonly because: string;
}

/**
 * Sizes of the slow and fast components in %RH and K, chosen on simulated rooms (the choosing seeds): a slow one of 5 %RH, which
 * a single year cannot show, was the least that gave bands their due.
 */
const humidityHabits: CourseHabits = {
  slowSd: { median: 5, logSd: 0.4 },
  fastSd: { median: 4, logSd: 0.5 },
  fastDays: { median: 4, logSd: 0.5 },
};
const temperatureHabits: CourseHabits = {
  slowSd: { median: 0.7, logSd: 0.4 },
  fastSd: { median: 1, logSd: 0.5 },
  fastDays: { median: 4, logSd: 0.5 },
};

const independent = (...sd: readonly [number, number, number]): number[] => [
  sd[0] ** 2,
  0,
  0,
  0,
  sd[1] ** 2,
  0,
  0,
  0,
  sd[2] ** 2,
];
const roomsInGeneral: Seasons = {
  humidity: { mean: [45, 0, 0], covariance: independent(12, 10, 10) },
  temperature: { mean: [20.5, 0, 0], covariance: independent(3, 3, 3) },
};
/** How far rooms of one venue stray from each other in level and season, where only one or two are there to tell. */
const strayVenue = { humidity: [5, 4, 4], temperature: [1.5, 1, 1] } as const;
const strayFleet = { humidity: [8, 7, 7], temperature: [2, 2, 2] } as const;

interface Seasons {
  readonly humidity: SeasonPrior;
  readonly temperature: SeasonPrior;
}

/** Days of its own from which a room needs no other. */
const fullYear = 330;

export interface ClimateKnowledge {
  readonly own: DailyAir;
  /** Climates of other rooms that rest on a year of their own. */
  readonly venueRooms?: readonly RoomClimate[];
  readonly outdoor?: DailyAir | null;
  readonly fleetRooms?: readonly RoomClimate[];
}

export function roomClimate(knowledge: ClimateKnowledge): RoomClimate {
  const { own } = knowledge;
  const { seasons, source, because } = seasonsFrom(knowledge);
  return {
    humidity: fitCourse(own.humidityPct, own.startMs, seasons.humidity, humidityHabits),
    temperature: fitCourse(own.temperatureC, own.startMs, seasons.temperature, temperatureHabits),
    source,
    because,
  };
}

function seasonsFrom({ own, venueRooms = [], outdoor = null, fleetRooms = [] }: ClimateKnowledge): {
  seasons: Seasons;
  source: ClimateSource;
  because: string;
} {
  const days = countOf(own.humidityPct);
  if (days >= fullYear) {
    return {
      seasons: roomsInGeneral,
      source: 'own history',
      because: `Seasons from ${days} days of its own.`,
    };
  }
  const rooms = (list: readonly RoomClimate[]) => (list.length === 1 ? 'one room' : `${list.length} rooms`);
  const short = `Only ${days} days of its own`;
  if (venueRooms.length > 0) {
    return {
      seasons: pooled(venueRooms, strayVenue),
      source: 'rooms of the venue',
      because: `${short}: seasons from ${rooms(venueRooms)} of the venue.`,
    };
  }
  if (outdoor !== null && countOf(outdoor.humidityPct) >= fullYear) {
    return {
      seasons: throughBalance(outdoor),
      source: 'outdoor sensor',
      because: `${short}: seasons from the outdoor sensor through the moisture balance.`,
    };
  }
  if (fleetRooms.length > 0) {
    return {
      seasons: pooled(fleetRooms, strayFleet),
      source: 'rooms of the fleet',
      because: `${short}: seasons from ${rooms(fleetRooms)} elsewhere in the fleet.`,
    };
  }
  return { seasons: roomsInGeneral, source: 'rooms in general', because: `${short}: seasons hardly known.` };
}

function countOf(values: ArrayLike<number | null>): number {
  let count = 0;
  for (let i = 0; i < values.length; i++) if (!Number.isNaN(values[i] ?? Number.NaN)) count++;
  return count;
}

type Stray = { readonly humidity: readonly number[]; readonly temperature: readonly number[] };

function pooled(rooms: readonly RoomClimate[], stray: Stray): Seasons {
  return {
    humidity: pooledSeason(
      rooms.map(({ humidity }) => humidity),
      stray.humidity,
    ),
    temperature: pooledSeason(
      rooms.map(({ temperature }) => temperature),
      stray.temperature,
    ),
  };
}

/** Mean season of other rooms; its covariance is how they differ (the usual stray counting as three rooms) plus what each leaves open. */
function pooledSeason(courses: readonly DailyCourse[], stray: readonly number[]): SeasonPrior {
  const seasons = courses.map(seasonOf);
  const n = seasons.length;
  const mean = [0, 1, 2].map((i) => seasons.reduce((sum, one) => sum + (one.mean[i] as number), 0) / n);
  const usual = 3;
  const covariance = [0, 1, 2].flatMap((i) =>
    [0, 1, 2].map((j) => {
      const between = seasons.reduce(
        (sum, one) =>
          sum +
          ((one.mean[i] as number) - (mean[i] as number)) * ((one.mean[j] as number) - (mean[j] as number)),
        i === j ? usual * (stray[i] as number) ** 2 : 0,
      );
      const open = seasons.reduce((sum, one) => sum + (one.covariance[i * 3 + j] as number), 0) / n;
      return (between / (n - 1 + usual)) * (1 + 1 / n) + open / n;
    }),
  );
  return { mean, covariance };
}

/** Level and harmonic of a fitted course, over its nodes. */
function seasonOf(course: DailyCourse): SeasonPrior {
  const mean = [0, 1, 2].map((i) =>
    course.nodes.reduce((sum, { weight, mean: m }) => sum + weight * (m[i] as number), 0),
  );
  const covariance = [0, 1, 2].flatMap((i) =>
    [0, 1, 2].map((j) =>
      course.nodes.reduce((sum, { weight, covariance: c }) => sum + weight * (c[i * 5 + j] as number), 0),
    ),
  );
  return { mean, covariance };
}

/** Vapour that people and plants add to a ventilated room (g/m³), and how warm it is kept (°C): proposals, with wide errors. */
const addedGm3 = 1.5;
const keptC = 20.5;

/** The season that outdoor air would bring into a heated room. @source ISO-13788 */
function throughBalance(outdoor: DailyAir): Seasons {
  const temperatureC = Float64Array.from({ length: outdoor.temperatureC.length }, (_, i) => {
    const outC = outdoor.temperatureC[i] ?? Number.NaN;
    return Math.max(keptC, keptC + 0.5 * (outC - 17));
  });
  const humidityPct = Float64Array.from(temperatureC, (indoorC, i) => {
    const outC = outdoor.temperatureC[i] ?? Number.NaN;
    const outPct = outdoor.humidityPct[i] ?? Number.NaN;
    if (Number.isNaN(outC) || Number.isNaN(outPct)) return Number.NaN;
    const brought = (100 * vapourPressurePa(outC, outPct)) / saturationPressurePa(indoorC);
    return Math.min(100, brought + (100 * addedGm3) / absoluteHumidityGm3(indoorC, 100));
  });
  const season = (values: Float64Array, habits: CourseHabits, prior: SeasonPrior, stray: readonly number[]) =>
    pooledSeason([fitCourse(values, outdoor.startMs, prior, habits)], stray);
  return {
    humidity: season(humidityPct, humidityHabits, roomsInGeneral.humidity, strayFleet.humidity),
    temperature: season(temperatureC, temperatureHabits, roomsInGeneral.temperature, strayFleet.temperature),
  };
}

/** Daily means of a finer series; a day needs half of its steps. */
export function dailyMeans(air: AirSeries): DailyAir {
  const startMs = Math.ceil(air.startMs / msPerDay) * msPerDay;
  const perDay = Math.round(msPerDay / air.stepMs);
  const skip = Math.round((startMs - air.startMs) / air.stepMs);
  const days = Math.max(0, Math.floor((air.humidityPct.length - skip) / perDay));
  const mean = (values: ArrayLike<number | null>) =>
    Float64Array.from({ length: days }, (_, day) => {
      let sum = 0;
      let known = 0;
      for (let i = 0; i < perDay; i++) {
        const value = values[skip + day * perDay + i] ?? Number.NaN;
        if (Number.isNaN(value)) continue;
        sum += value;
        known++;
      }
      return known * 2 >= perDay ? sum / known : Number.NaN;
    });
  return { startMs, temperatureC: mean(air.temperatureC), humidityPct: mean(air.humidityPct) };
}
