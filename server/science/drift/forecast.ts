/** The coming days of one instrument: humidity, moisture, offset by register, unison spread, and the chance of being out of tolerance. */
import type { Tolerance } from '../pitch.ts';
import { drawDrift } from './draws.ts';
import { lagWeightsOf } from './lags.ts';
import { offsetPaths, spreadPaths, warmthNow } from './offset-paths.ts';
import { type BoardNow, drawPaths, type Paths } from './paths.ts';
import type { DriftPosterior } from './posterior.ts';
import { threeQuantiles } from './quantile.ts';
import { seededRandom } from './random.ts';
import type { Instrument, Register } from './registers.ts';
import type { ClimateSource, RoomClimate } from './room-climate.ts';
import type { SinceTuning } from './since-tuning.ts';
import type { SpreadPosterior } from './spread.ts';
import { drawSpread } from './spread-draws.ts';
import { type Break, beyondTolerancePaths, type ToleranceDays, usualBreaks } from './tolerance.ts';

export interface ForecastInput {
  readonly instrument: Instrument;
  readonly drift: DriftPosterior;
  readonly spread: SpreadPosterior;
  readonly climate: RoomClimate;
  readonly board: BoardNow;
  readonly since: SinceTuning;
  /** Readings since, without a tuning: the registers that they name go on from there, and stand in no other. */
  readonly later?: readonly SinceTuning[];
  /** How wide the unisons were read since, without a tuning: they do not come back from there. */
  readonly unisons?: { readonly since: SinceTuning; readonly cents: number } | null;
  readonly tolerance: Tolerance;
  readonly breaks?: readonly Break[];
  /** Days ahead (120) and paths (300); the same seed gives the same forecast. */
  readonly days?: number;
  readonly paths?: number;
  readonly seed?: number;
}

/** Every path of a forecast, for those who ask more of it than its quantiles. */
export interface ForecastPaths {
  readonly climate: Paths;
  readonly offsets: readonly { readonly register: Register; readonly cents: Float64Array }[];
  readonly spreadCents: Float64Array;
  readonly beyond: ToleranceDays;
  /**
   * Of the offsets of the first day, what the temperature alone has done since the tuning (cents, median of the registers), and by
   * how much it is warmer (°C). Temperatures are drawn along with the humidity, so the fan of the offsets holds theirs too.
   */
  readonly warmth: { readonly cents: number; readonly changeC: number };
}

/** One value per day: the 10 %, 50 % and 90 % quantiles. */
export interface Fan {
  readonly low: number[];
  readonly median: number[];
  readonly high: number[];
}

export interface Forecast {
  /** End of each day. */
  readonly timesMs: number[];
  readonly humidityPct: Fan;
  readonly temperatureC: Fan;
  readonly moisturePct: Fan;
  readonly registers: readonly {
    readonly register: Register;
    readonly offsetCents: Fan;
    /** Chance of standing further than the level from pitch. */
    readonly beyond: number[];
  }[];
  readonly spreadCents: Fan;
  /** Chances per day that each part of the tolerance, or any of them, is passed. */
  readonly beyond: {
    readonly level: number[];
    readonly step: number[];
    /** Level or step. */
    readonly pitch: number[];
    readonly spread: number[];
    readonly any: number[];
  };
  readonly source: ClimateSource;
  readonly because: string;
}

const msPerDay = 86_400_000;

export function forecastPaths(input: ForecastInput): ForecastPaths {
  const { instrument, drift, days = 120, paths: count = 300, seed = 1 } = input;
  if (!(Number.isInteger(days) && days >= 1 && days <= 800))
    throw new RangeError(`days must be 1 to 800, not ${days}`);
  if (!(Number.isInteger(count) && count >= 20 && count <= 20_000)) {
    throw new RangeError(`paths must be 20 to 20000, not ${count}`);
  }
  // Streams of their own, so that another climate on the same seed meets the same instrument.
  const climate = drawPaths(
    input.climate,
    input.board,
    lagWeightsOf(drift, instrument),
    days,
    count,
    seededRandom(seed),
  );
  return alongPaths(input, climate);
}

/** The same instrument, with the same draws, along other paths. */
export function alongPaths(
  input: Pick<
    ForecastInput,
    'instrument' | 'drift' | 'spread' | 'since' | 'later' | 'unisons' | 'tolerance' | 'breaks' | 'seed'
  >,
  climate: Paths,
): ForecastPaths {
  const { instrument, drift, since, later = [], unisons, tolerance, breaks = usualBreaks, seed = 1 } = input;
  const draws = drawDrift(drift, instrument, climate.count, seededRandom(seed + 0.25e9));
  const offsets = offsetPaths(draws, climate, [since, ...later]);
  const drawn = drawSpread(input.spread, instrument.id, climate.count, seededRandom(seed + 0.5e9));
  const spreadCents = spreadPaths(drawn, climate, since);
  if (unisons) {
    const fromRead = spreadPaths({ ...drawn, left: unisons.cents }, climate, unisons.since);
    fromRead.forEach((cents, i) => {
      spreadCents[i] = Math.max(cents, spreadCents[i] as number);
    });
  }
  return {
    climate,
    offsets,
    spreadCents,
    beyond: beyondTolerancePaths(offsets, spreadCents, tolerance, breaks),
    warmth: warmthNow(draws, climate, since, offsets),
  };
}

export function forecast(input: ForecastInput): Forecast {
  return summarise(forecastPaths(input), input);
}

export function summarise(
  paths: ForecastPaths,
  input: Pick<ForecastInput, 'tolerance' | 'climate'>,
): Forecast {
  const { climate, offsets, spreadCents, beyond } = paths;
  const { count, days } = climate;
  return {
    timesMs: Array.from({ length: days }, (_, t) => climate.startMs + (t + 1) * msPerDay),
    humidityPct: fanOf(climate.humidityPct, count, days),
    temperatureC: fanOf(climate.temperatureC, count, days),
    moisturePct: fanOf(climate.moisturePct, count, days),
    registers: offsets.map(({ register, cents }) => ({
      register,
      offsetCents: fanOf(cents, count, days),
      beyond: sharesBeyond(cents, input.tolerance.levelCents, count, days),
    })),
    spreadCents: fanOf(spreadCents, count, days),
    beyond: {
      level: shares(beyond.level, count, days),
      step: shares(beyond.step, count, days),
      pitch: shares(anyOf(beyond.level, beyond.step), count, days),
      spread: shares(beyond.spread, count, days),
      any: shares(anyOf(beyond.level, beyond.step, beyond.spread), count, days),
    },
    source: input.climate.source,
    because: input.climate.because,
  };
}

export function isOut(beyond: ToleranceDays, i: number): boolean {
  return beyond.level[i] === 1 || beyond.step[i] === 1 || beyond.spread[i] === 1;
}

export function fanOf(values: Float64Array, count: number, days: number): Fan {
  const fan: Fan = { low: [], median: [], high: [] };
  const ofDay = new Float64Array(count);
  for (let t = 0; t < days; t++) {
    for (let k = 0; k < count; k++) ofDay[k] = values[k * days + t] as number;
    const [low, median, high] = threeQuantiles(ofDay, [0.1, 0.5, 0.9]);
    fan.low.push(low);
    fan.median.push(median);
    fan.high.push(high);
  }
  return fan;
}

/** Share of the paths on which a mark is set, day by day. */
function shares(marks: Uint8Array, count: number, days: number): number[] {
  const hits = new Float64Array(days);
  for (let k = 0, i = 0; k < count; k++) {
    for (let t = 0; t < days; t++, i++) hits[t] = (hits[t] as number) + (marks[i] as number);
  }
  return Array.from(hits, (value) => value / count);
}

/** The same for values further from zero than a limit. */
function sharesBeyond(values: Float64Array, limit: number, count: number, days: number): number[] {
  const marks = new Uint8Array(values.length);
  for (let i = 0; i < values.length; i++) if (Math.abs(values[i] as number) > limit) marks[i] = 1;
  return shares(marks, count, days);
}

function anyOf(...parts: readonly Uint8Array[]): Uint8Array {
  const any = new Uint8Array(parts[0]?.length ?? 0);
  for (const part of parts) for (let i = 0; i < any.length; i++) if (part[i] === 1) any[i] = 1;
  return any;
}
