/**
 * Ordinary and weighted least squares by Householder QR, with the covariance of what was estimated.
 * Columns are scaled to unit length first: it costs nothing and keeps ill-scaled sets (Longley's) accurate.
 */
import { Matrix, QrDecomposition, solve } from 'ml-matrix';

export interface Fit {
  readonly coefficients: readonly number[];
  /** (X'WX)^-1: times the residual variance it is the covariance, and the covariance itself where weights are 1/variance. */
  readonly unscaledCovariance: readonly (readonly number[])[];
  /** Square root of the weighted residual sum over its degrees of freedom; null without any. */
  readonly residualSd: number | null;
}

/**
 * @param rows one row of the design for each observation (write the 1 of a constant yourself)
 * @param y observations
 * @param weights one for each, above 0; all 1 where absent
 * @throws RangeError where shapes disagree, rows are too few, or columns depend on each other
 */
export function leastSquares(
  rows: readonly (readonly number[])[],
  y: readonly number[],
  weights?: readonly number[],
): Fit {
  const n = rows.length;
  const p = rows[0]?.length ?? 0;
  if (p === 0 || n < p) throw new RangeError(`${p} coefficients need at least as many rows, got ${n}`);
  if (y.length !== n || (weights && weights.length !== n))
    throw new RangeError(`y and weights must have ${n} entries`);
  const root = (i: number): number => Math.sqrt(weights?.[i] ?? 1);
  const X = new Matrix(rows.map((row, i) => row.map((value) => value * root(i))));
  const target = Matrix.columnVector(y.map((value, i) => value * root(i)));
  const lengths = Array.from({ length: p }, (_, j) => X.getColumnVector(j).norm());
  for (const [j, length] of lengths.entries()) {
    if (length === 0) throw new RangeError(`column ${j} of the design is all zero`);
    X.mulColumn(j, 1 / length);
  }
  const qr = new QrDecomposition(X);
  const R = qr.upperTriangularMatrix;
  // Unit columns: a pivot at rounding level is a column made of the others.
  if (!qr.isFullRank() || R.diagonal().some((pivot) => Math.abs(pivot) < 1e-13)) {
    throw new RangeError('the columns of the design depend on each other');
  }
  const scaled = qr.solve(target);
  const coefficients = lengths.map((length, j) => scaled.get(j, 0) / length);
  const inverseR = solve(R, Matrix.eye(p));
  const covariance = inverseR.mmul(inverseR.transpose());
  const unscaledCovariance = lengths.map((a, i) => lengths.map((b, j) => covariance.get(i, j) / (a * b)));
  const residual = Matrix.sub(target, X.mmul(scaled)).norm();
  return { coefficients, unscaledCovariance, residualSd: n > p ? residual / Math.sqrt(n - p) : null };
}
