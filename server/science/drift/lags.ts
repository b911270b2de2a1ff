/**
 * How long the board's mean moisture lags behind the air. Nobody measures it; the tunings of a kind and finish say which lags of a
 * grid are likely, and an instrument's own once it has six intervals. The lag is never settled on one value: the change of
 * moisture is the mean over the likely lags, and how far they disagree is an error that belongs in the band. (Picking the best
 * lag made the bands too narrow by a tenth: it fits the noise of a handful of intervals.)
 */
import { usualLagDays } from './board-lag.ts';
import type { DriftPosterior } from './posterior.ts';
import { lagLogSd } from './priors.ts';
import type { Finish, Instrument, Kind } from './registers.ts';

/** Equivalent lags (days) for which the moisture change is worked out. */
export const lagGridDays: readonly number[] = [1, 2, 3, 5, 8, 13, 21];

/** Intervals an instrument needs before its own lag is looked for. */
export const ownLagFrom = 6;

export const lagGroup = (kind: Kind, finish: Finish | null): string =>
  `${kind} ${finish ?? 'unknown finish'}`;

/** −2 log of the prior of a lag, for a board of that finish. */
export function lagCharge(lagDays: number, finish: Finish | null): number {
  return (
    (Math.log(lagDays / usualLagDays(finish)) / (finish === null ? lagLogSd.unknown : lagLogSd.known)) ** 2
  );
}

/** Weights that sum to one from −2 log of what speaks for each lag. */
export function lagWeights(deviances: readonly number[]): number[] {
  const least = Math.min(...deviances);
  const raw = deviances.map((deviance) => Math.exp((least - deviance) / 2));
  const sum = raw.reduce((total, weight) => total + weight, 0);
  return raw.map((weight) => weight / sum);
}

/** A group's weights spread by how far its members stray from it: what is likely for any one of them. */
export function strayed(weights: readonly number[], lagDays: readonly number[]): number[] {
  const out = new Array<number>(lagDays.length).fill(0);
  weights.forEach((weight, from) => {
    const reach = lagWeights(
      lagDays.map((days) => (Math.log(days / (lagDays[from] as number)) / lagLogSd.own) ** 2),
    );
    reach.forEach((share, to) => {
      out[to] = (out[to] as number) + weight * share;
    });
  });
  return out;
}

/** Before anything was learned. */
export function usualWeights(lagDays: readonly number[], finish: Finish | null): number[] {
  return lagDays.length === 1 ? [1] : lagWeights(lagDays.map((days) => lagCharge(days, finish)));
}

/** How likely each lag of the grid is for an instrument. */
export function lagWeightsOf(posterior: DriftPosterior, instrument: Instrument): readonly number[] {
  return (
    posterior.ownLag[instrument.id] ??
    posterior.groupLag[lagGroup(instrument.kind, instrument.finish)] ??
    usualWeights(posterior.lagDays, instrument.finish)
  );
}

/** Mean lag (days) of an instrument, on the log scale: for the screen. */
export function meanLagDays(posterior: DriftPosterior, instrument: Instrument): number {
  const weights = lagWeightsOf(posterior, instrument);
  return Math.exp(
    weights.reduce((sum, weight, i) => sum + weight * Math.log(posterior.lagDays[i] as number), 0),
  );
}

/** Mean and standard deviation, over the likely lags, of a change that is known at each of them. */
export function overLags(
  change: number | readonly number[],
  weights: readonly number[],
): { mean: number; sd: number } {
  if (typeof change === 'number') return { mean: change, sd: 0 };
  let mean = 0;
  let square = 0;
  for (let i = 0; i < weights.length; i++) {
    const weight = weights[i] as number;
    const value = change[i] as number;
    mean += weight * value;
    square += weight * value * value;
  }
  return { mean, sd: Math.sqrt(Math.max(0, square - mean * mean)) };
}
