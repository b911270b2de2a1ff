import { within } from './range.ts';

/**
 * The standard normal distribution function, to about 1e-15: the series near the middle, the continued fraction in the
 * tails. @source AbramowitzStegun-26-2
 */
export function normalCdf(z: number): number {
  if (Number.isNaN(z)) return Number.NaN;
  const a = Math.abs(z);
  if (a > 38) return z > 0 ? 1 : 0;
  const density = Math.exp((-a * a) / 2) / Math.sqrt(2 * Math.PI);
  if (a < 3) {
    // 26.2.11
    let term = a;
    let sum = a;
    for (let n = 3; Math.abs(term) > 1e-17 * sum; n += 2) {
      term *= (a * a) / n;
      sum += term;
    }
    return z > 0 ? 0.5 + density * sum : 0.5 - density * sum;
  }
  // 26.2.14
  let fraction = 0;
  for (let n = 60; n >= 1; n -= 1) fraction = n / (a + fraction);
  const tail = density / (a + fraction);
  return z > 0 ? 1 - tail : tail;
}

/**
 * Chance that a normally distributed offset lies beyond a limit on either side.
 * @param sdCents at least 0; at 0 the answer is 0 or 1
 */
export function probabilityBeyond(meanCents: number, sdCents: number, limitCents: number): number;
export function probabilityBeyond(
  meanCents: number | null,
  sdCents: number | null,
  limitCents: number,
): number | null;
export function probabilityBeyond(
  meanCents: number | null,
  sdCents: number | null,
  limitCents: number,
): number | null {
  if (meanCents === null || sdCents === null) return null;
  within('sdCents', sdCents, 0, Number.MAX_VALUE);
  within('limitCents', limitCents, 0, Number.MAX_VALUE);
  if (sdCents === 0) return Math.abs(meanCents) > limitCents ? 1 : 0;
  return normalCdf((-limitCents - meanCents) / sdCents) + normalCdf((meanCents - limitCents) / sdCents);
}
