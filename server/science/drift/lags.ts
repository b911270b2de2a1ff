/**
 * How long the board's mean moisture lags behind the air, chosen from a grid by what the tunings say: per kind and finish over
 * the fleet, and for an instrument of its own once it has six intervals.
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

/** −2 log of the prior of an instrument's own lag, about that of its kind and finish. */
export function ownLagCharge(lagDays: number, groupDays: number): number {
  return (Math.log(lagDays / groupDays) / lagLogSd.own) ** 2;
}

/** The most probable index into the grid before anything was learned. */
export function usualLag(lagDays: readonly number[], finish: Finish | null): number {
  return lowest(lagDays.map((days) => lagCharge(days, finish)));
}

export function lowest(values: readonly number[]): number {
  let best = 0;
  values.forEach((value, index) => {
    if (value < (values[best] as number)) best = index;
  });
  return best;
}

/** Index into the grid of lags that holds for an instrument. */
export function lagIndexOf(posterior: DriftPosterior, instrument: Instrument): number {
  return (
    posterior.ownLag[instrument.id] ??
    posterior.groupLag[lagGroup(instrument.kind, instrument.finish)] ??
    usualLag(posterior.lagDays, instrument.finish)
  );
}
