/**
 * Unison spread: a piano can stand at pitch and still need tuning because the strings of its notes have drifted apart.
 *
 *   spread² = left² + u² (net² + q² range²) + v² years
 *
 * u is the instrument's own (cents per %MC): the strings of a unison answer the same movement of the board differently. What it
 * comes back from still counts for a part (q), since strings stick and slip at the bridge. The reading is taken to err by a share
 * of itself. Offsets come back with the season; this does not.
 *
 * @source trade-observations
 */
import { normalCdf } from '../normal.ts';
import { minimise } from './minimise.ts';

/** Words a technician uses where nothing was measured (proposal: up to 1.5, up to 3, over 3 cents). */
export const spreadWords = {
  clean: [0, 1.5],
  'slow beat': [1.5, 3],
  sour: [3, Number.POSITIVE_INFINITY],
} as const;
export type SpreadWord = keyof typeof spreadWords;

/** 90th percentile over the unisons sampled (cents) and how many they were; or a word. "Not measured" is neither. */
export type SpreadReading =
  | { readonly cents: number; readonly sampled: number }
  | { readonly word: SpreadWord };

/** What happened since the unisons were last tuned. */
export interface SpreadChange {
  /** Change of the board's mean moisture (%MC), and highest less lowest on the way. */
  readonly netPct: number;
  readonly rangePct: number;
  readonly years: number;
}

export interface SpreadObservation extends SpreadChange {
  readonly instrument: string;
  readonly reading: SpreadReading;
}

interface LogNormal {
  readonly median: number;
  readonly logSd: number;
}

/** Common practice gives the order of u (0.2 to 0.5 c per %RH over a summer); the rest are proposals. */
const priors = {
  unison: { median: 1.2, logSd: 0.4 },
  /** How instruments differ, on the log scale. */
  unisonLogSd: { median: 0.5, logSd: 0.3 },
  range: { median: 0.4, logSd: 0.4 },
  left: { median: 0.5, logSd: 0.3 },
  use: { median: 0.8, logSd: 0.4 },
  /** Share by which a reading errs. */
  error: { median: 0.3, logSd: 0.4 },
} satisfies Record<string, LogNormal>;
const names = ['unison', 'unisonLogSd', 'range', 'left', 'use', 'error'] as const;

/** Standard deviation of the log of a 90th percentile taken from few unisons: about one over the root of their number. */
const samplingVariance = (sampled: number): number => 0.5 / Math.max(1, sampled);
const wordsSampled = 8;

/** Log deviations of u for which an instrument's chances are kept, in units of the fleet's log-sd. */
const steps = Array.from({ length: 17 }, (_, i) => (i - 8) * 0.375);

/** Plain JSON. */
export interface SpreadPosterior {
  readonly unison: number;
  readonly unisonLogSd: number;
  readonly range: number;
  readonly left: number;
  readonly use: number;
  readonly error: number;
  readonly observations: number;
  /** Per instrument: weight of each step of u. */
  readonly own: Readonly<Record<string, readonly number[]>>;
}

type Figures = Omit<SpreadPosterior, 'own' | 'observations'>;

/** @throws RangeError for a reading or change that is not a number, or a spread that is not positive. */
export function fitSpread(observations: readonly SpreadObservation[]): SpreadPosterior {
  observations.forEach(check);
  const byInstrument = new Map<string, SpreadObservation[]>();
  for (const observation of observations) {
    const list = byInstrument.get(observation.instrument);
    if (list === undefined) byInstrument.set(observation.instrument, [observation]);
    else list.push(observation);
  }
  const groups = [...byInstrument.values()];
  const start = names.map((name) => Math.log(priors[name].median));
  const deviance = (x: readonly number[]) => {
    const figures = figuresOf(x);
    let sum = 0;
    names.forEach((name, i) => {
      sum += (((x[i] as number) - (start[i] as number)) / priors[name].logSd) ** 2;
    });
    for (const group of groups) sum -= 2 * logSumExp(logWeights(figures, group));
    return sum;
  };
  const best =
    groups.length === 0
      ? start
      : minimise(
          deviance,
          start,
          names.map(() => 0.25),
          { evaluations: 260, tolerance: 1e-3 },
        ).x;
  const figures = figuresOf(best);
  const own = Object.fromEntries(
    [...byInstrument].map(([id, group]) => [id, normalised(logWeights(figures, group))]),
  );
  return { ...figures, observations: observations.length, own };
}

/** The posterior with one more reading in it; the fleet's figures wait for the next fit. */
export function addSpread(posterior: SpreadPosterior, observation: SpreadObservation): SpreadPosterior {
  check(observation);
  const before = ownSteps(posterior, observation.instrument);
  const weights = normalised(
    steps.map(
      (step, i) =>
        Math.log(Math.max(1e-300, before[i] as number)) + logLikelihood(posterior, observation, step),
    ),
  );
  return {
    ...posterior,
    observations: posterior.observations + 1,
    own: { ...posterior.own, [observation.instrument]: weights },
  };
}

function check({ instrument, netPct, rangePct, years, reading }: SpreadObservation): void {
  const values = { netPct, rangePct, years, ...('cents' in reading ? { cents: reading.cents } : {}) };
  for (const [name, value] of Object.entries(values)) {
    if (!Number.isFinite(value))
      throw new RangeError(`spread of ${instrument}: ${name} must be a finite number, not ${value}`);
  }
  if (years < 0 || rangePct < 0)
    throw new RangeError(`spread of ${instrument}: years and rangePct must not be negative`);
  if ('cents' in reading && !(reading.cents >= 0)) {
    throw new RangeError(`spread of ${instrument}: cents must not be negative, not ${reading.cents}`);
  }
}

function figuresOf(x: readonly number[]): Figures {
  const [unison, unisonLogSd, range, left, use, error] = x.map(Math.exp) as [
    number,
    number,
    number,
    number,
    number,
    number,
  ];
  return { unison, unisonLogSd, range, left, use, error };
}

/** Spread (cents) at one step of u. */
function spreadAt(figures: Figures, change: SpreadChange, step: number): number {
  const u = figures.unison * Math.exp(step * figures.unisonLogSd);
  return Math.sqrt(
    figures.left ** 2 +
      u ** 2 * (change.netPct ** 2 + figures.range ** 2 * change.rangePct ** 2) +
      figures.use ** 2 * change.years,
  );
}

/** Below this a spread is read as this: the instrument's last digit. */
const leastCents = 0.1;

function logLikelihood(figures: Figures, observation: SpreadObservation, step: number): number {
  const { reading } = observation;
  const expected = Math.log(spreadAt(figures, observation, step));
  if ('cents' in reading) {
    const sd = Math.sqrt(figures.error ** 2 + samplingVariance(reading.sampled));
    const z = (Math.log(Math.max(leastCents, reading.cents)) - expected) / sd;
    // A tail heavier than normal's: one careless reading must not rule a value of u out.
    return -Math.log(sd) - 3 * Math.log(1 + z ** 2 / 5);
  }
  const sd = Math.sqrt(figures.error ** 2 + samplingVariance(wordsSampled));
  const [from, to] = spreadWords[reading.word];
  const below = from === 0 ? 0 : normalCdf((Math.log(from) - expected) / sd);
  const upTo = to === Number.POSITIVE_INFINITY ? 1 : normalCdf((Math.log(to) - expected) / sd);
  return Math.log(0.02 + 0.98 * Math.max(0, upTo - below));
}

const logPriorOfSteps = normalisedLog(steps.map((step) => -(step ** 2) / 2));

function logWeights(figures: Figures, group: readonly SpreadObservation[]): number[] {
  return steps.map((step, i) =>
    group.reduce(
      (sum, observation) => sum + logLikelihood(figures, observation, step),
      logPriorOfSteps[i] as number,
    ),
  );
}

function logSumExp(values: readonly number[]): number {
  const most = Math.max(...values);
  return most + Math.log(values.reduce((sum, value) => sum + Math.exp(value - most), 0));
}

function normalisedLog(values: readonly number[]): number[] {
  const total = logSumExp(values);
  return values.map((value) => value - total);
}

function normalised(values: readonly number[]): number[] {
  return normalisedLog(values).map(Math.exp);
}

/** Weight of each step of u for an instrument: the fleet's where it has no readings. */
export function ownSteps(posterior: SpreadPosterior, instrument: string): readonly number[] {
  return posterior.own[instrument] ?? logPriorOfSteps.map(Math.exp);
}

/** A spread to expect: likely medians with their weights, about each of which the reading errs by a share. */
export interface SpreadPrediction {
  readonly medianCents: number;
  readonly low80Cents: number;
  readonly high80Cents: number;
  readonly medians: readonly number[];
  readonly weights: readonly number[];
  readonly logSd: number;
}

/**
 * @param sampled unisons that a reading would sample; the chance of being beyond a limit is that of such a reading
 */
export function predictSpread(
  posterior: SpreadPosterior,
  instrument: string,
  change: SpreadChange,
  sampled = wordsSampled,
): SpreadPrediction {
  const weights = ownSteps(posterior, instrument);
  const medians = steps.map((step) => spreadAt(posterior, change, step));
  const logSd = Math.sqrt(posterior.error ** 2 + samplingVariance(sampled));
  const at = (share: number) => quantileOfMixture(medians, weights, logSd, share);
  return { medianCents: at(0.5), low80Cents: at(0.1), high80Cents: at(0.9), medians, weights, logSd };
}

/** P(spread > limit). */
export function spreadBeyond({ medians, weights, logSd }: SpreadPrediction, limitCents: number): number {
  return weights.reduce(
    (sum, weight, i) => sum + weight * (1 - normalCdf(Math.log(limitCents / (medians[i] as number)) / logSd)),
    0,
  );
}

function quantileOfMixture(
  medians: readonly number[],
  weights: readonly number[],
  logSd: number,
  share: number,
): number {
  let low = Math.log(Math.min(...medians)) - 5 * logSd;
  let high = Math.log(Math.max(...medians)) + 5 * logSd;
  for (let i = 0; i < 50; i++) {
    const middle = (low + high) / 2;
    const below = weights.reduce(
      (sum, weight, k) => sum + weight * normalCdf((middle - Math.log(medians[k] as number)) / logSd),
      0,
    );
    if (below < share) low = middle;
    else high = middle;
  }
  return Math.exp((low + high) / 2);
}

/** Draws of an instrument's u and of how its reading errs: the same for every day of a path. */
export interface SpreadDraws {
  /** u² per draw, and the factor by which the spread errs. */
  readonly squaredUnison: Float64Array;
  readonly factor: Float64Array;
  readonly range: number;
  readonly left: number;
  readonly use: number;
}

export function drawSpread(
  posterior: SpreadPosterior,
  instrument: string,
  count: number,
  random: { uniform(): number; normal(): number },
): SpreadDraws {
  const weights = ownSteps(posterior, instrument);
  const squaredUnison = new Float64Array(count);
  const factor = new Float64Array(count);
  for (let k = 0; k < count; k++) {
    let rest = random.uniform();
    let i = 0;
    while (i < weights.length - 1 && rest > (weights[i] as number)) {
      rest -= weights[i] as number;
      i++;
    }
    squaredUnison[k] = (posterior.unison * Math.exp((steps[i] as number) * posterior.unisonLogSd)) ** 2;
    factor[k] = Math.exp(posterior.error * random.normal());
  }
  return { squaredUnison, factor, range: posterior.range, left: posterior.left, use: posterior.use };
}

export function drawnSpread(draws: SpreadDraws, k: number, change: SpreadChange): number {
  const moved = change.netPct ** 2 + draws.range ** 2 * change.rangePct ** 2;
  return (
    (draws.factor[k] as number) *
    Math.sqrt(draws.left ** 2 + (draws.squaredUnison[k] as number) * moved + draws.use ** 2 * change.years)
  );
}
