/** Learns how unisons drift apart: what all instruments share, and how much each one's strings differ. */
import { normalCdf } from '../normal.ts';
import { minimise } from './minimise.ts';
import {
  ownSteps,
  type SpreadFigures,
  type SpreadObservation,
  type SpreadPosterior,
  samplingVariance,
  spreadAt,
  spreadWords,
  steps,
  usualSteps,
  wordsSampled,
} from './spread.ts';

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

function figuresOf(x: readonly number[]): SpreadFigures {
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

/** Below this a spread is read as this: the instrument's last digit. */
const leastCents = 0.1;

/**
 * Readings right after a tuning say how tunings are left, and nothing of how far a spread strays from what drift would make it:
 * they are taken to err by a share that is not learned (proposal), so that clean unisons do not narrow the bands of drifted ones.
 */
const errorOf = (figures: SpreadFigures, { years, rangePct }: SpreadObservation): number =>
  years === 0 && rangePct === 0 ? priors.error.median : figures.error;

function logLikelihood(figures: SpreadFigures, observation: SpreadObservation, step: number): number {
  const { reading } = observation;
  const expected = Math.log(spreadAt(figures, observation, step));
  if ('cents' in reading) {
    const sd = Math.sqrt(errorOf(figures, observation) ** 2 + samplingVariance(reading.sampled));
    const z = (Math.log(Math.max(leastCents, reading.cents)) - expected) / sd;
    // A tail heavier than normal's: one careless reading must not rule a value of u out.
    return -Math.log(sd) - 3 * Math.log(1 + z ** 2 / 5);
  }
  const sd = Math.sqrt(errorOf(figures, observation) ** 2 + samplingVariance(wordsSampled));
  const [from, to] = spreadWords[reading.word];
  const below = from === 0 ? 0 : normalCdf((Math.log(from) - expected) / sd);
  const upTo = to === Number.POSITIVE_INFINITY ? 1 : normalCdf((Math.log(to) - expected) / sd);
  return Math.log(0.02 + 0.98 * Math.max(0, upTo - below));
}

function logWeights(figures: SpreadFigures, group: readonly SpreadObservation[]): number[] {
  return steps.map((step, i) =>
    group.reduce(
      (sum, observation) => sum + logLikelihood(figures, observation, step),
      Math.log(usualSteps[i] as number),
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
