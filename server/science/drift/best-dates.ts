/** When to tune, given how often: the dates that keep it within tolerance for the most days, set against the habit of fixed months. */
import { type AfterTuning, afterTuning } from './after-tuning.ts';
import { type ForecastInput, type ForecastPaths, forecastPaths } from './forecast.ts';
import { sortedQuantile } from './quantile.ts';

export interface BestDatesInput extends ForecastInput {
  readonly tunings: number;
  /** Concerts: being within tolerance on such a day counts as many days. */
  readonly events?: readonly { readonly atMs: number; readonly countsAsDays?: number }[];
  /** Dates of habit to compare with; spread evenly over the time where none are given. */
  readonly habitMs?: readonly number[];
}

export interface BestDates {
  readonly dates: readonly { readonly atMs: number; readonly because: string }[];
  /** Days within tolerance to expect, of `days`. */
  readonly daysWithin: number;
  readonly habit: { readonly datesMs: readonly number[]; readonly daysWithin: number };
  /** Days gained over the habit: mean, and the range that holds 8 of 10 paths. */
  readonly gain: { readonly meanDays: number; readonly lowDays: number; readonly highDays: number };
  readonly days: number;
  readonly because: string;
}

const msPerDay = 86_400_000;
/** A week's grid: nobody keeps a date to the day a year ahead. */
const gridDays = 7;
const eventDays = 20;

export function bestDates(input: BestDatesInput): BestDates {
  const { tunings } = input;
  if (!(Number.isInteger(tunings) && tunings >= 1 && tunings <= 12)) {
    throw new RangeError(`tunings must be 1 to 12, not ${tunings}`);
  }
  const paths = forecastPaths({ days: 365, ...input });
  const { days, startMs } = paths.climate;
  const grid = Array.from({ length: Math.ceil(days / gridDays) }, (_, i) => i * gridDays);
  const after = afterTuning(input, paths, grid, grid);
  const weights = weightsOf(grid, days, startMs, input.events ?? []);
  // Chosen on one half of the paths and judged on the other, so that the gain is not the luck of the choice.
  const chosen = choose(after, weights, tunings, 0);
  const habit = (input.habitMs ?? evenly(tunings, days, startMs))
    .map((ms) => Math.round((ms - startMs) / msPerDay / gridDays))
    .filter((at) => at >= 0 && at < grid.length)
    .sort((a, b) => a - b);
  const plain = grid.map((day) => Math.min(gridDays, days - day));
  const best = daysWithin(after, plain, chosen);
  const usual = daysWithin(after, plain, habit);
  const gains = best.map((value, k) => value - (usual[k] as number));
  const mean = (values: Float64Array) => values.reduce((sum, value) => sum + value, 0) / values.length;
  const meanDays = mean(gains);
  gains.sort();
  const dateOf = (at: number) => startMs + (grid[at] as number) * msPerDay;
  return {
    dates: chosen.map((at) => ({ atMs: dateOf(at), because: movementAround(paths, grid[at] as number) })),
    daysWithin: mean(best),
    habit: { datesMs: habit.map(dateOf), daysWithin: mean(usual) },
    gain: { meanDays, lowDays: sortedQuantile(gains, 0.1), highDays: sortedQuantile(gains, 0.9) },
    days,
    because:
      `${Math.round(mean(best))} of ${days} days within tolerance, against ${Math.round(mean(usual))} by habit` +
      (input.events?.length ? ', concert days counting more.' : '.'),
  };
}

function evenly(tunings: number, days: number, startMs: number): number[] {
  return Array.from({ length: tunings }, (_, i) => startMs + ((i * days) / tunings) * msPerDay);
}

function weightsOf(
  grid: readonly number[],
  days: number,
  startMs: number,
  events: NonNullable<BestDatesInput['events']>,
): number[] {
  const weights = grid.map((day) => Math.min(gridDays, days - day));
  for (const { atMs, countsAsDays = eventDays } of events) {
    const at = Math.floor((atMs - startMs) / msPerDay / gridDays);
    if (at >= 0 && at < weights.length) weights[at] = (weights[at] as number) + countsAsDays;
  }
  return weights;
}

/** Most weight within tolerance for a number of tunings, by the last tuning before each week (dynamic programming). */
function choose(after: AfterTuning, weights: readonly number[], tunings: number, half: 0 | 1): number[] {
  const n = weights.length;
  // sums[a][b]: weight within tolerance from week a, tuned then, to before week b.
  const running = (held: Uint8Array, from: number) => {
    const sums = new Float64Array(n + 1);
    for (let s = from; s < n; s++) {
      sums[s + 1] = (sums[s] as number) + (weights[s] as number) * shareOf(held, s, after.count, half);
    }
    return sums;
  };
  const untouched = running(after.untouched, 0);
  const tuned = after.within.map((held, a) => running(held, a));
  let best = Array.from({ length: n }, (_, a) => ({ value: untouched[a] as number, dates: [a] }));
  for (let used = 1; used < tunings; used++) {
    best = Array.from({ length: n }, (_, b) => {
      let top = { value: Number.NEGATIVE_INFINITY, dates: [b] };
      for (let a = 0; a < b; a++) {
        const before = best[a] as (typeof best)[0];
        const value = before.value + (tuned[a]?.[b] as number);
        if (value > top.value) top = { value, dates: [...before.dates, b] };
      }
      return top;
    });
  }
  let top = best[0] as (typeof best)[0];
  let most = Number.NEGATIVE_INFINITY;
  best.forEach((one, a) => {
    const value = one.value + (tuned[a]?.[n] as number);
    if (value > most) {
      most = value;
      top = one;
    }
  });
  return top.dates;
}

/** Share of every second path that is within tolerance. */
function shareOf(held: Uint8Array, seen: number, count: number, half: 0 | 1): number {
  let hits = 0;
  for (let k = half; k < count; k += 2) hits += held[seen * count + k] as number;
  return hits / Math.ceil((count - half) / 2);
}

/** Days within tolerance for each path of the other half. */
function daysWithin(after: AfterTuning, weights: readonly number[], dates: readonly number[]): Float64Array {
  const { count } = after;
  const out = new Float64Array(Math.floor(count / 2));
  weights.forEach((weight, s) => {
    let last = -1;
    for (const date of dates) if (date <= s) last = date;
    const held = last < 0 ? after.untouched : (after.within[last] as Uint8Array);
    for (let i = 0; i < out.length; i++)
      out[i] = (out[i] as number) + weight * (held[s * count + 2 * i + 1] as number);
  });
  return out;
}

/** How fast the board moves in the month before and after a date: why that date. */
function movementAround({ climate }: ForecastPaths, day: number): string {
  const { count, days, moisturePct } = climate;
  const meanAt = (t: number) => {
    const at = Math.min(days - 1, Math.max(0, t));
    let sum = 0;
    for (let k = 0; k < count; k++) sum += moisturePct[k * days + at] as number;
    return sum / count;
  };
  const before = Math.abs(meanAt(day) - meanAt(day - 30));
  const after = Math.abs(meanAt(day + 30) - meanAt(day));
  const said = (change: number) => `${change.toFixed(1)} %MC`;
  return day < 30
    ? `In the month after it the board moves about ${said(after)}.`
    : `The board moves about ${said(before)} in the month before it and ${said(after)} in the month after.`;
}
