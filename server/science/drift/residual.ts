/**
 * What remains after moisture, temperature and time: Student's t with five degrees of freedom. A wild reading then pulls with
 * less force the further out it lies, and the 80 % band is nearly the same whether the tails are heavy or normal.
 *
 * @source Lange-1989-robust-t
 */
import { normalCdf } from '../normal.ts';
import { quantileOf } from './quantile.ts';

export const degreesOfFreedom = 5;
/** Variance of the t law of unit scale. */
export const tVariance = degreesOfFreedom / (degreesOfFreedom - 2);

/**
 * A t variable is a normal one whose precision was drawn from a gamma law. Sixteen nodes of Gauss-Laguerre quadrature over that
 * law (generalised, exponent 1.5; computed with scipy 1.17.1, those of no weight left out) give its distribution function to 1.2e-4, and add to any normal part.
 */
const precisionNodes: readonly (readonly [precision: number, weight: number])[] = [
  [0.11723420787, 0.0383511639006],
  [0.3474881434, 0.184333571655],
  [0.695242181216, 0.308770927142],
  [1.16359956989, 0.269664398457],
  [1.75689328457, 0.140846880932],
  [2.48094991885, 0.0465704614918],
  [3.34344995027, 0.00995727961242],
  [4.35446247609, 0.00137719174857],
  [5.52726100431, 0.000121313624318],
  [6.87961333691, 6.59706804563e-6],
  [8.43592436001, 2.10677067476e-7],
  [10.2310422091, 3.65967807548e-9],
];

/** Share of the residual's variance that is there at once: the reading itself (proposal: half a cent of 1.3). */
const atOnce = 0.15;
const growthDays = 30;

/** Variance of the residual after some years, against that of a long interval: most of it needs weeks to build up (proposal). */
export function residualGrowth(years: number): number {
  return atOnce + (1 - atOnce) * (1 - Math.exp((-years * 365.25) / growthDays));
}

/** Sum of a normal and a t variable about a mean. */
export interface Spread {
  readonly meanCents: number;
  /** Of the normal part: what is not known of the slope and of the fleet. */
  readonly normalSdCents: number;
  /** Scale of the t part: residual, and error of the moisture change. */
  readonly tScaleCents: number;
}

export function spreadSd(spread: Spread): number {
  return Math.sqrt(spread.normalSdCents ** 2 + tVariance * spread.tScaleCents ** 2);
}

/** P(value ≤ at). */
export function cumulative(spread: Spread, at: number): number {
  if (spread.normalSdCents === 0 && spread.tScaleCents === 0) return at >= spread.meanCents ? 1 : 0;
  const normalVariance = spread.normalSdCents ** 2;
  const squaredScale = spread.tScaleCents ** 2;
  let sum = 0;
  for (const [precision, weight] of precisionNodes) {
    sum += weight * normalCdf((at - spread.meanCents) / Math.sqrt(normalVariance + squaredScale / precision));
  }
  return sum;
}

/** The band that holds a share (0-1) of what may be found, with equal parts left out at either side. */
export function band(spread: Spread, share: number): { lowCents: number; highCents: number } {
  const reach = 12 * spreadSd(spread);
  const centred = { ...spread, meanCents: 0 };
  const half = quantileOf((at) => cumulative(centred, at), (1 + share) / 2, 0, reach);
  return { lowCents: spread.meanCents - half, highCents: spread.meanCents + half };
}

/** P(|value| > limit): the chance of standing out of tolerance to either side. */
export function probabilityOutside(spread: Spread, limitCents: number): number {
  return 1 - cumulative(spread, limitCents) + cumulative(spread, -limitCents);
}
