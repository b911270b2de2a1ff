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

/** Variance of the log of a 90th percentile taken from few unisons: its standard deviation is about 0.7 over the root of their number. */
export const samplingVariance = (sampled: number): number => 0.5 / Math.max(1, sampled);
export const wordsSampled = 8;

/** Log deviations of u for which an instrument's chances are kept, in units of the fleet's log-sd. */
export const steps = Array.from({ length: 17 }, (_, i) => (i - 8) * 0.375);

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

export type SpreadFigures = Omit<SpreadPosterior, 'own' | 'observations'>;

/** Spread (cents) at one step of u. */
export function spreadAt(figures: SpreadFigures, change: SpreadChange, step: number): number {
  const u = figures.unison * Math.exp(step * figures.unisonLogSd);
  return Math.sqrt(
    figures.left ** 2 +
      u ** 2 * (change.netPct ** 2 + figures.range ** 2 * change.rangePct ** 2) +
      figures.use ** 2 * change.years,
  );
}

/** Chance of each step of u before an instrument was heard. */
export const usualSteps: readonly number[] = (() => {
  const raw = steps.map((step) => Math.exp(-(step ** 2) / 2));
  const sum = raw.reduce((total, weight) => total + weight, 0);
  return raw.map((weight) => weight / sum);
})();

/** Weight of each step of u for an instrument: the fleet's where it has no readings. */
export function ownSteps(posterior: SpreadPosterior, instrument: string): readonly number[] {
  return posterior.own[instrument] ?? usualSteps;
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
