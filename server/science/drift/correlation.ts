/**
 * How the registers go together. They are fitted one by one, but the same board, the same error of the moisture and the same
 * visit stand behind them: a decision that looks at all five draws their errors with these correlations.
 */
import { cholesky } from './cholesky.ts';
import { registers } from './registers.ts';

const n = registers.length;

/** What a correlation is taken to be before anything was seen, and for how many pairs that counts (proposal). */
export const usualResidualCorrelation = { value: 0.4, pairs: 20 };
export const usualSlopeCorrelation = { value: 0.6, pairs: 10 };

/**
 * Correlation of columns of standardised values (NaN where there is none), drawn towards the usual one.
 *
 * @param values one array per register, entry by entry of the same thing (an interval, an instrument).
 * @returns 5 × 5, row by row; always positive definite.
 */
export function correlationOf(
  values: readonly Float64Array[],
  usual: { value: number; pairs: number },
): number[] {
  const out = new Array<number>(n * n).fill(1);
  for (let r = 0; r < n; r++) {
    for (let s = 0; s < r; s++) {
      const left = values[r] as Float64Array;
      const right = values[s] as Float64Array;
      let both = usual.value * usual.pairs;
      let squaresLeft = usual.pairs;
      let squaresRight = usual.pairs;
      for (let i = 0; i < left.length; i++) {
        const a = left[i] as number;
        const b = right[i] as number;
        if (Number.isNaN(a) || Number.isNaN(b)) continue;
        // One wild visit must not set a correlation.
        const weight = 6 / (5 + Math.max(a * a, b * b));
        both += weight * a * b;
        squaresLeft += weight * a * a;
        squaresRight += weight * b * b;
      }
      const value = both / Math.sqrt(squaresLeft * squaresRight);
      out[r * n + s] = value;
      out[s * n + r] = value;
    }
  }
  return madeDefinite(out, usual.value);
}

/** Pairs are estimated from different visits where registers are missing, so the whole may not hang together: blend until it does. */
function madeDefinite(matrix: number[], value: number): number[] {
  for (let share = 0; share < 1; share += 0.1) {
    const blended = matrix.map((entry, i) => (i % (n + 1) === 0 ? 1 : (1 - share) * entry + share * value));
    if (
      cholesky(
        blended.map((entry, i) => (i % (n + 1) === 0 ? 1 : entry * 1.001)),
        n,
      ) !== null
    )
      return blended;
  }
  return matrix.map((_, i) => (i % (n + 1) === 0 ? 1 : value));
}
