/**
 * Mean moisture of a soundboard, fast enough to be run along hundreds of paths and at seven lags.
 *
 * A slab with the same film on both faces answers the moisture its air asks for as a sum of first-order lags, whose weights
 * and rates are known in closed form (Crank's sheet with surface evaporation). Four of them stand for the whole. This is the
 * solution of what `slab.ts` integrates, for the mean only; faces in different air ask for the mean of both.
 *
 * @source Crank-1975
 */
import { type Finish, filmResistanceSPerM } from '../films.ts';
import { equilibriumMoisturePct } from '../wood.ts';

const secondsPerDay = 86_400;
/** An 8 mm board of spruce in still air, as `parts.ts` has it; thinner or slower ones show as another lag. */
const halfThicknessM = 0.004;
const diffusivityM2s = 1e-10;
const emissionMps = 1e-7;
const modes = 4;

/** How the mean follows the air. The weights sum to one; `lagDays` is their mean delay. */
export interface BoardLag {
  readonly lagDays: number;
  readonly weights: readonly number[];
  readonly ratesPerDay: readonly number[];
}

/** Delay of diffusion alone, from the middle to a face without any film. */
const diffusionDays = halfThicknessM ** 2 / (3 * diffusivityM2s) / secondsPerDay;

/** The lag to expect of a board with that finish (days); lacquer's where it is not known. */
export function usualLagDays(finish: Finish | null): number {
  const resistance = filmResistanceSPerM(finish ?? 'lacquer') + 1 / emissionMps;
  return diffusionDays + (halfThicknessM * resistance) / secondsPerDay;
}

/**
 * @param lagDays mean delay between a step of the air and the mean moisture, over 0.62 (diffusion alone) to 365 days
 * @throws RangeError outside
 */
export function boardLag(lagDays: number): BoardLag {
  if (!(lagDays > diffusionDays * 1.01 && lagDays <= 365)) {
    throw new RangeError(`lagDays must be over ${diffusionDays.toFixed(2)} and at most 365, not ${lagDays}`);
  }
  const resistance = ((lagDays - diffusionDays) * secondsPerDay) / halfThicknessM;
  const biot = halfThicknessM / (resistance * diffusivityM2s);
  const perDay = (diffusivityM2s / halfThicknessM ** 2) * secondsPerDay;
  const weights: number[] = [];
  const ratesPerDay: number[] = [];
  for (let k = 0; k < modes; k++) {
    const beta = rootOf(biot, k);
    weights.push((2 * biot ** 2) / (beta ** 2 * (beta ** 2 + biot ** 2 + biot)));
    ratesPerDay.push(beta ** 2 * perDay);
  }
  const rest = 1 - weights.reduce((sum, weight) => sum + weight, 0);
  weights[modes - 1] = (weights[modes - 1] as number) + rest;
  return { lagDays, weights, ratesPerDay };
}

/** The k-th root of β tan β = Bi, between kπ and kπ + π/2. */
function rootOf(biot: number, k: number): number {
  let low = k * Math.PI;
  let high = low + Math.PI / 2;
  for (let i = 0; i < 60; i++) {
    const middle = (low + high) / 2;
    if (middle * Math.sin(middle) * (k % 2 === 0 ? 1 : -1) < biot * Math.cos(middle) * (k % 2 === 0 ? 1 : -1))
      low = middle;
    else high = middle;
  }
  return (low + high) / 2;
}

/** Air on an even grid; null or NaN where nothing is known. */
export interface AirSeries {
  readonly startMs: number;
  readonly stepMs: number;
  readonly temperatureC: ArrayLike<number | null>;
  readonly humidityPct: ArrayLike<number | null>;
}

/** Mean moisture of the board after each step of the air, at several lags. */
export interface MoistureCourse {
  readonly startMs: number;
  readonly stepMs: number;
  readonly lagDays: readonly number[];
  /** One array per lag. */
  readonly meanPct: readonly Float64Array[];
  /** 1 where the air was not known: the board is held as it was. */
  readonly missing: Uint8Array;
  /** Per lag, where each mode stands after the last step: a forecast goes on from here. */
  readonly end: readonly Float64Array[];
}

/** Moisture (%MC) that the air of each step asks for; NaN in gaps. */
export function moistureAskedPct(air: AirSeries): Float64Array {
  const asked = new Float64Array(air.humidityPct.length);
  for (let i = 0; i < asked.length; i++) {
    const temperatureC = air.temperatureC[i] ?? Number.NaN;
    const humidityPct = air.humidityPct[i] ?? Number.NaN;
    asked[i] =
      Number.isNaN(temperatureC) || Number.isNaN(humidityPct)
        ? Number.NaN
        : equilibriumMoisturePct(temperatureC, humidityPct);
  }
  return asked;
}

/** Days of air whose mean the board is taken to start from; what it held before is forgotten after about three lags. */
const startDays = 14;

export function moistureCourse(air: AirSeries, lagDays: readonly number[]): MoistureCourse {
  const asked = moistureAskedPct(air);
  const missing = Uint8Array.from(asked, (value) => (Number.isNaN(value) ? 1 : 0));
  const stepDays = air.stepMs / 86_400_000;
  const start = meanOfFirst(asked, Math.ceil(startDays / stepDays));
  const end: Float64Array[] = [];
  const meanPct = lagDays.map((days) => {
    const lag = boardLag(days);
    const state = new Float64Array(modes).fill(start);
    const mean = new Float64Array(asked.length);
    const keep = lag.ratesPerDay.map((rate) => Math.exp(-rate * stepDays));
    for (let i = 0; i < asked.length; i++) {
      if (missing[i] === 0) stepBoard(state, keep, asked[i] as number);
      mean[i] = meanOf(state, lag);
    }
    end.push(state);
    return mean;
  });
  return { startMs: air.startMs, stepMs: air.stepMs, lagDays, meanPct, missing, end };
}

/** One step in place: `keep` is what each mode keeps of its distance to the air, exp(−rate × step). */
export function stepBoard(state: Float64Array, keep: readonly number[], askedPct: number): void {
  for (let k = 0; k < state.length; k++) {
    state[k] = askedPct + ((state[k] as number) - askedPct) * (keep[k] as number);
  }
}

export function meanOf(state: Float64Array, lag: BoardLag): number {
  let mean = 0;
  for (let k = 0; k < state.length; k++) mean += (lag.weights[k] as number) * (state[k] as number);
  return mean;
}

function meanOfFirst(values: Float64Array, count: number): number {
  let sum = 0;
  let known = 0;
  for (let i = 0; i < values.length && known < count; i++) {
    const value = values[i] as number;
    if (Number.isNaN(value)) continue;
    sum += value;
    known++;
  }
  return known === 0 ? Number.NaN : sum / known;
}

/** A time so soon after the last known step finds the board as that step left it: wood moves in days. */
const stillMs = 24 * 3_600_000;

/** The step of a course that holds a time, just after it the last; null before the first, and where none is near. */
export function stepAt({ startMs, stepMs, missing }: MoistureCourse, atMs: number): number | null {
  const known = missing.length;
  const at = Math.floor((atMs - startMs) / stepMs);
  if (known === 0 || at < 0 || (at - known) * stepMs >= stillMs) return null;
  return Math.min(at, known - 1);
}

/** Mean moisture at a time; NaN where the course has no step for it. */
export function moistureAt(course: MoistureCourse, lag: number, atMs: number): number {
  return course.meanPct[lag]?.[stepAt(course, atMs) ?? -1] ?? Number.NaN;
}
