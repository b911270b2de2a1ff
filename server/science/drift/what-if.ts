/**
 * What would another climate change? The past year and the coming days are run twice by the same model, as they are and as they
 * would be, on the same paths, slopes and residual draws; the answer is the difference between the two runs, with its interval.
 *
 * It is a model's answer. A run is never set against what was observed, and rooms are not picked by last year's worst result: the
 * worst of many is partly bad luck, which would be counted as the gain.
 */
import { absoluteHumidityGm3 } from '../air.ts';
import { drawCourse } from './daily-course.ts';
import { lagWeightsOf } from './lags.ts';
import { drawLags } from './paths.ts';
import { sortedQuantile } from './quantile.ts';
import { seededRandom } from './random.ts';
import type { DailyAir, RoomClimate } from './room-climate.ts';
import { type Counts, drawOccasions, pastDays, type RunAir, type RunInput, run } from './what-if-run.ts';

/** A place: its past year day by day, and what is known of the days to come. */
export interface Place {
  readonly past: DailyAir;
  readonly climate: RoomClimate;
}

export type Change =
  | {
      readonly kind: 'hold';
      /** The air of the room, or only that inside the case. */
      readonly where: 'room' | 'case';
      readonly lowPct: number;
      readonly highPct: number;
    }
  | { readonly kind: 'move'; readonly to: Place };

export interface WhatIfInput extends RunInput {
  readonly place: Place;
  readonly change: Change;
  /** For the water: the room's, where the room is held. */
  readonly room?: { readonly volumeM3: number; readonly airChangesPerH: number } | null;
  /** Days to come (120), paths (200), seed. */
  readonly days?: number;
  readonly paths?: number;
  readonly seed?: number;
}

/** Mean over the paths, and the range that holds eight of ten. */
export interface Interval {
  readonly mean: number;
  readonly low: number;
  readonly high: number;
}

export interface RunSummary {
  readonly daysBeyond: Interval;
  /** Of them days with the pitch out, and with the unisons out. */
  readonly pitchDays: Interval;
  readonly unisonDays: Interval;
  readonly tunings: Interval;
  /** Days on which the board stood in class 1, 2, 3; empty for a laminated one. */
  readonly boardDays: readonly Interval[];
}

export interface Comparison {
  readonly days: number;
  readonly asIs: RunSummary;
  readonly changed: RunSummary;
  /** Changed less as it is, path by path. */
  readonly difference: RunSummary;
}

export interface WhatIf {
  readonly pastYear: Comparison;
  readonly coming: Comparison;
  /** Water to be added and to be taken out over the past year (litres); null where it cannot be told. */
  readonly water: { readonly addedLitres: number; readonly removedLitres: number } | null;
  /** What kind of answer this is. */
  readonly caution: string;
}

export function whatIf(input: WhatIfInput): WhatIf {
  const { change, place, days = 120, paths: count = 200, seed = 1 } = input;
  if (
    change.kind === 'hold' &&
    !(change.lowPct >= 5 && change.highPct <= 90 && change.lowPct <= change.highPct)
  ) {
    throw new RangeError(
      `lowPct and highPct must rise within 5 to 90, not ${change.lowPct} to ${change.highPct}`,
    );
  }
  const asIs = climateOf(place, days, count, seed);
  const other =
    change.kind === 'move'
      ? climateOf(change.to, days, count, seed)
      : held(asIs, change.lowPct, change.highPct);
  const lagOf = drawLags(lagWeightsOf(input.drift, input.instrument), count, seededRandom(seed + 0.75e9));
  const occasion = drawOccasions(input, count, seed);
  const first = run(input, asIs, lagOf, occasion);
  const second = run(input, other, lagOf, occasion);
  const isSolid = input.board.construction === 'solid';
  return {
    pastYear: compare(first.past, second.past, pastDays, isSolid),
    coming: compare(first.coming, second.coming, days, isSolid),
    water:
      change.kind === 'hold' && change.where === 'room' ? waterOf(asIs, other, input.room ?? null) : null,
    caution: change.kind === 'hold' && change.where === 'case' ? `${bothFaces} ${caution}` : caution,
  };
}

const caution =
  'The answer of a model: two runs of it set against each other, not against what was observed. Choose rooms by how they are ' +
  'used and how their climate stands, not by last year’s worst result. Humidifiers and mains near water: unplug before ' +
  'filling; wiring and ducts are for licensed trades.';
/** Field readings of pianos with a control inside show three to five times less movement, more than one face held could give. @source trade-observations */
const bothFaces =
  'Air held inside is taken to reach both faces of the board; where the lid stands open or the back is bare it reaches less.';

function climateOf({ past, climate }: Place, days: number, count: number, seed: number): RunAir {
  const random = seededRandom(seed);
  const humidity = drawCourse(climate.humidity, days, count, random);
  const temperature = drawCourse(climate.temperature, days, count, random);
  const total = pastDays + days;
  const air = {
    days: total,
    humidityPct: new Float64Array(count * total),
    temperatureC: new Float64Array(count * total),
  };
  const humidityBefore = lastYear(past.humidityPct, 'humidity');
  const temperatureBefore = lastYear(past.temperatureC, 'temperature');
  for (let k = 0; k < count; k++) {
    air.humidityPct.set(humidityBefore, k * total);
    air.temperatureC.set(temperatureBefore, k * total);
    for (let t = 0; t < days; t++) {
      const at = k * total + pastDays + t;
      air.humidityPct[at] = Math.min(97, Math.max(3, humidity[k * days + t] as number));
      air.temperatureC[at] = Math.min(45, Math.max(-15, temperature[k * days + t] as number));
    }
  }
  return air;
}

/** The last 365 days, gaps filled by the last day known: both runs are filled alike, and only their difference is told. */
function lastYear(values: ArrayLike<number | null>, name: string): Float64Array {
  const out = new Float64Array(pastDays);
  const from = values.length - pastDays;
  let held = Number.NaN;
  for (let i = 0; i < values.length; i++) {
    const value = values[i] ?? Number.NaN;
    if (!Number.isNaN(value)) held = value;
    if (i >= from) out[i - from] = held;
  }
  const firstKnown = out.find((value) => !Number.isNaN(value));
  if (from < 0 || firstKnown === undefined) throw new RangeError(`past: a year of ${name} is needed`);
  return out.map((value) => (Number.isNaN(value) ? firstKnown : value));
}

function held(air: RunAir, lowPct: number, highPct: number): RunAir {
  return { ...air, humidityPct: air.humidityPct.map((value) => Math.min(highPct, Math.max(lowPct, value))) };
}

function compare(asIs: Counts, changed: Counts, days: number, isSolid: boolean): Comparison {
  const less = (a: Float64Array, b: Float64Array) => b.map((value, k) => value - (a[k] as number));
  const difference: Counts = {
    daysBeyond: less(asIs.daysBeyond, changed.daysBeyond),
    pitchDays: less(asIs.pitchDays, changed.pitchDays),
    unisonDays: less(asIs.unisonDays, changed.unisonDays),
    tunings: less(asIs.tunings, changed.tunings),
    boardDays: [
      less(asIs.boardDays[0], changed.boardDays[0]),
      less(asIs.boardDays[1], changed.boardDays[1]),
      less(asIs.boardDays[2], changed.boardDays[2]),
    ],
  };
  return {
    days,
    asIs: summaryOf(asIs, isSolid),
    changed: summaryOf(changed, isSolid),
    difference: summaryOf(difference, isSolid),
  };
}

function summaryOf(counts: Counts, isSolid: boolean): RunSummary {
  return {
    daysBeyond: intervalOf(counts.daysBeyond),
    pitchDays: intervalOf(counts.pitchDays),
    unisonDays: intervalOf(counts.unisonDays),
    tunings: intervalOf(counts.tunings),
    boardDays: isSolid ? counts.boardDays.map(intervalOf) : [],
  };
}

function intervalOf(values: Float64Array): Interval {
  const sorted = Float64Array.from(values).sort();
  return {
    mean: values.reduce((sum, value) => sum + value, 0) / values.length,
    low: sortedQuantile(sorted, 0.1),
    high: sortedQuantile(sorted, 0.9),
  };
}

/**
 * The free run already holds what people and weather bring, so the water is what the air exchanged for it lacks or has too much of.
 *
 * @source ISO-13788
 */
function waterOf(asIs: RunAir, changed: RunAir, room: WhatIfInput['room']): WhatIf['water'] {
  if (room === null || room === undefined) return null;
  let added = 0;
  let removed = 0;
  for (let t = 0; t < pastDays; t++) {
    const celsius = asIs.temperatureC[t] as number;
    const lack =
      absoluteHumidityGm3(celsius, changed.humidityPct[t] as number) -
      absoluteHumidityGm3(celsius, asIs.humidityPct[t] as number);
    const litres = (24 * room.airChangesPerH * room.volumeM3 * lack) / 1000;
    if (litres > 0) added += litres;
    else removed -= litres;
  }
  return { addedLitres: added, removedLitres: removed };
}
