/**
 * Two ranges of seeds that never meet. Whatever was chosen by looking at a result (priors of spread, grids, thresholds, the form
 * of the humidity model) was chosen on the first; every figure that is asserted or reported comes from the second.
 */
export const choosingSeed = (n: number): number => 1_000 + n;
export const scoringSeed = (n: number): number => 900_000 + n;
