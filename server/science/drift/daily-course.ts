/**
 * How a daily mean (of a room's humidity, or its temperature) goes on: level and one annual harmonic, a slow component of about
 * sixty days, and a fast one. All of it is normal once the three standard deviations and the fast memory are given, so a Kalman
 * filter carries what is known; the size of the slow component, which one year cannot show, is kept as several likely values.
 *
 * More harmonics fit a year better and foretell the next one worse: with a year or two of history they learn that year's weather.
 *
 * @source Durbin-Koopman-2012
 */

import { semiCholesky } from './cholesky.ts';
import { minimise } from './minimise.ts';
import type { Random } from './random.ts';

const msPerDay = 86_400_000;
const msPerYear = 365.25 * msPerDay;

/** Mean and covariance of level, cosine and sine (3, and 3 × 3 row by row); the angle is that of the date in the year, UTC. */
export interface SeasonPrior {
  readonly mean: readonly number[];
  readonly covariance: readonly number[];
}

/** Log-normal: of the slow and fast standard deviations in the course's unit, and of the fast memory in days. */
export interface CourseHabits {
  readonly slowSd: { readonly median: number; readonly logSd: number };
  readonly fastSd: { readonly median: number; readonly logSd: number };
  readonly fastDays: { readonly median: number; readonly logSd: number };
}

/** One likely value of the slow component's size, with where everything stood after the last day. */
export interface CourseNode {
  readonly weight: number;
  readonly slowSd: number;
  /** Level, cosine, sine, slow, fast. */
  readonly mean: readonly number[];
  readonly covariance: readonly number[];
}

export interface DailyCourse {
  /** The day after the last: forecasts begin here. */
  readonly nextMs: number;
  readonly fastSd: number;
  readonly fastDays: number;
  readonly nodes: readonly CourseNode[];
  /** Days with a value. */
  readonly known: number;
}

/** Memory of the slow component (days); a quarter of a year's weather hangs together this long. */
const slowDays = 60;
/** Offsets of the nodes from the most probable size, on the log scale in units of its prior's. */
const nodeSteps = [-1.5, -0.75, 0, 0.75, 1.5];

/**
 * @param values daily means from `startMs` on; null or NaN in gaps; may be empty
 */
export function fitCourse(
  values: ArrayLike<number | null>,
  startMs: number,
  season: SeasonPrior,
  habits: CourseHabits,
): DailyCourse {
  const days = Float64Array.from({ length: values.length }, (_, i) => values[i] ?? Number.NaN);
  const known = days.reduce((count, value) => count + (Number.isNaN(value) ? 0 : 1), 0);
  const nextMs = startMs + days.length * msPerDay;
  const start = [habits.slowSd, habits.fastSd, habits.fastDays].map(({ median }) => Math.log(median));
  const priors = [habits.slowSd, habits.fastSd, habits.fastDays];
  const deviance = (x: readonly number[]) =>
    filter(
      days,
      startMs,
      season,
      Math.exp(x[0] as number),
      Math.exp(x[1] as number),
      Math.exp(x[2] as number),
    ).deviance +
    priors.reduce(
      (sum, { median, logSd }, i) => sum + (((x[i] as number) - Math.log(median)) / logSd) ** 2,
      0,
    );
  const best =
    known === 0 ? start : minimise(deviance, start, [0.3, 0.3, 0.4], { evaluations: 60, tolerance: 0.01 }).x;
  const [slow, fast, memory] = best as [number, number, number];
  const nodes = nodeSteps.map((step) => {
    const logSlow = slow + step * habits.slowSd.logSd;
    const slowSd = Math.exp(logSlow);
    const { mean, covariance } = filter(days, startMs, season, slowSd, Math.exp(fast), Math.exp(memory));
    return {
      deviance: deviance([logSlow, fast, memory]),
      node: { slowSd, mean: Array.from(mean), covariance: Array.from(covariance) },
    };
  });
  const least = Math.min(...nodes.map((one) => one.deviance));
  const raw = nodes.map((one) => Math.exp((least - one.deviance) / 2));
  const total = raw.reduce((sum, weight) => sum + weight, 0);
  return {
    nextMs,
    fastSd: Math.exp(fast),
    fastDays: Math.exp(memory),
    nodes: nodes.map(({ node }, i) => ({ weight: (raw[i] as number) / total, ...node })),
    known,
  };
}

const n = 5;

function angleOf(ms: number): number {
  return (2 * Math.PI * ms) / msPerYear;
}

/** The filter from the first day to the last: −2 log-likelihood, and state after the last day. */
function filter(
  days: Float64Array,
  startMs: number,
  season: SeasonPrior,
  slowSd: number,
  fastSd: number,
  fastDays: number,
): { deviance: number; mean: Float64Array; covariance: Float64Array } {
  const mean = new Float64Array(n);
  const p = new Float64Array(n * n);
  mean.set(season.mean);
  for (let i = 0; i < 3; i++)
    for (let j = 0; j < 3; j++) p[i * n + j] = season.covariance[i * 3 + j] as number;
  p[3 * n + 3] = slowSd ** 2;
  p[4 * n + 4] = fastSd ** 2;
  const keepSlow = Math.exp(-1 / slowDays);
  const keepFast = Math.exp(-1 / fastDays);
  const addSlow = slowSd ** 2 * (1 - keepSlow ** 2);
  const addFast = fastSd ** 2 * (1 - keepFast ** 2);
  const gain = new Float64Array(n);
  let deviance = 0;
  for (let t = 0; t < days.length; t++) {
    if (t > 0) {
      mean[3] = (mean[3] as number) * keepSlow;
      mean[4] = (mean[4] as number) * keepFast;
      for (let i = 0; i < n; i++) {
        p[3 * n + i] = (p[3 * n + i] as number) * keepSlow;
        p[i * n + 3] = (p[i * n + 3] as number) * keepSlow;
        p[4 * n + i] = (p[4 * n + i] as number) * keepFast;
        p[i * n + 4] = (p[i * n + 4] as number) * keepFast;
      }
      p[3 * n + 3] = (p[3 * n + 3] as number) + addSlow;
      p[4 * n + 4] = (p[4 * n + 4] as number) + addFast;
    }
    const value = days[t] as number;
    if (Number.isNaN(value)) continue;
    const angle = angleOf(startMs + t * msPerDay);
    const c = Math.cos(angle);
    const s = Math.sin(angle);
    let variance = 1e-6;
    for (let i = 0; i < n; i++) {
      const row = i * n;
      gain[i] =
        (p[row] as number) +
        c * (p[row + 1] as number) +
        s * (p[row + 2] as number) +
        (p[row + 3] as number) +
        (p[row + 4] as number);
    }
    variance +=
      (gain[0] as number) +
      c * (gain[1] as number) +
      s * (gain[2] as number) +
      (gain[3] as number) +
      (gain[4] as number);
    const miss =
      value -
      ((mean[0] as number) +
        c * (mean[1] as number) +
        s * (mean[2] as number) +
        (mean[3] as number) +
        (mean[4] as number));
    deviance += Math.log(variance) + miss ** 2 / variance;
    for (let i = 0; i < n; i++) {
      const k = (gain[i] as number) / variance;
      mean[i] = (mean[i] as number) + k * miss;
      for (let j = 0; j < n; j++) p[i * n + j] = (p[i * n + j] as number) - k * (gain[j] as number);
    }
  }
  return { deviance, mean, covariance: p };
}

/** `count` paths of `days` daily values from `nextMs` on, path after path in one array. */
export function drawCourse(course: DailyCourse, days: number, count: number, random: Random): Float64Array {
  const out = new Float64Array(count * days);
  const factors = course.nodes.map(({ covariance }) => semiCholesky(covariance, n));
  const keepSlow = Math.exp(-1 / slowDays);
  const keepFast = Math.exp(-1 / course.fastDays);
  const kickFast = course.fastSd * Math.sqrt(1 - keepFast ** 2);
  const cosine = Float64Array.from({ length: days }, (_, t) =>
    Math.cos(angleOf(course.nextMs + t * msPerDay)),
  );
  const sine = Float64Array.from({ length: days }, (_, t) => Math.sin(angleOf(course.nextMs + t * msPerDay)));
  const state = new Float64Array(n);
  const raw = new Float64Array(n);
  for (let k = 0; k < count; k++) {
    const at = pick(course.nodes, (k + random.uniform()) / count);
    const node = course.nodes[at] as CourseNode;
    const factor = factors[at] as Float64Array;
    for (let i = 0; i < n; i++) raw[i] = random.normal();
    for (let i = 0; i < n; i++) {
      let value = node.mean[i] as number;
      for (let j = 0; j <= i; j++) value += (factor[i * n + j] as number) * (raw[j] as number);
      state[i] = value;
    }
    const [level, c, s] = state as unknown as [number, number, number];
    let slow = state[3] as number;
    let fast = state[4] as number;
    const kickSlow = node.slowSd * Math.sqrt(1 - keepSlow ** 2);
    for (let t = 0; t < days; t++) {
      slow = keepSlow * slow + kickSlow * random.normal();
      fast = keepFast * fast + kickFast * random.normal();
      out[k * days + t] = level + c * (cosine[t] as number) + s * (sine[t] as number) + slow + fast;
    }
  }
  return out;
}

/** The node whose share of the weights holds `share`; paths take them in order, so that each gets its due. */
function pick(nodes: readonly CourseNode[], share: number): number {
  let sum = 0;
  for (let i = 0; i < nodes.length; i++) {
    sum += nodes[i]?.weight ?? 0;
    if (share < sum) return i;
  }
  return nodes.length - 1;
}
