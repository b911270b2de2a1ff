/**
 * The few steps of dense algebra the drift model needs, for symmetric matrices of at most a dozen rows, row by row in one
 * flat array. A general matrix library would spend more time on its objects than on the arithmetic at this size.
 */

/** Lower factor L with L L' = a, or null where `a` is not positive definite; written into `lower` where one is given. */
export function cholesky(
  a: ArrayLike<number>,
  n: number,
  lower = new Float64Array(n * n),
): Float64Array | null {
  for (let row = 0; row < n; row++) {
    for (let column = 0; column <= row; column++) {
      let sum = a[row * n + column] as number;
      for (let k = 0; k < column; k++) {
        sum -= (lower[row * n + k] as number) * (lower[column * n + k] as number);
      }
      if (row === column) {
        // Relative to the pivot it came from: a column that is a combination of others leaves only rounding behind.
        if (!(sum > 1e-12 * Math.abs(a[row * n + row] as number))) return null;
        lower[row * n + row] = Math.sqrt(sum);
      } else {
        lower[row * n + column] = sum / (lower[column * n + column] as number);
      }
    }
  }
  return lower;
}

/** x with L L' x = b; written into `x` where one is given. */
export function solve(
  lower: Float64Array,
  n: number,
  b: ArrayLike<number>,
  x = new Float64Array(n),
): Float64Array {
  x.set(b);
  for (let row = 0; row < n; row++) {
    let sum = x[row] as number;
    for (let k = 0; k < row; k++) sum -= (lower[row * n + k] as number) * (x[k] as number);
    x[row] = sum / (lower[row * n + row] as number);
  }
  for (let row = n - 1; row >= 0; row--) {
    let sum = x[row] as number;
    for (let k = row + 1; k < n; k++) sum -= (lower[k * n + row] as number) * (x[k] as number);
    x[row] = sum / (lower[row * n + row] as number);
  }
  return x;
}

/** (L L')⁻¹. */
export function inverse(lower: Float64Array, n: number): Float64Array {
  const out = new Float64Array(n * n);
  const unit = new Float64Array(n);
  for (let column = 0; column < n; column++) {
    unit.fill(0);
    unit[column] = 1;
    const x = solve(lower, n, unit);
    for (let row = 0; row < n; row++) out[row * n + column] = x[row] as number;
  }
  return out;
}

/** log det(L L'). */
export function logDeterminant(lower: Float64Array, n: number): number {
  let sum = 0;
  for (let row = 0; row < n; row++) sum += Math.log(lower[row * n + row] as number);
  return 2 * sum;
}

export function dot(a: ArrayLike<number>, b: ArrayLike<number>): number {
  let sum = 0;
  for (let i = 0; i < a.length; i++) sum += (a[i] as number) * (b[i] as number);
  return sum;
}

/** v' a v. */
export function quadraticForm(a: ArrayLike<number>, n: number, v: ArrayLike<number>): number {
  let sum = 0;
  for (let row = 0; row < n; row++) {
    for (let column = 0; column < n; column++) {
      sum += (a[row * n + column] as number) * (v[row] as number) * (v[column] as number);
    }
  }
  return sum;
}

/**
 * Lower factor of a covariance that may have directions without any variance (a coefficient that is known exactly):
 * such a direction gets a row of zeros below its pivot instead of a failure.
 */
export function semiCholesky(a: ArrayLike<number>, n: number): Float64Array {
  const lower = new Float64Array(n * n);
  for (let column = 0; column < n; column++) {
    let pivot = a[column * n + column] as number;
    for (let k = 0; k < column; k++) pivot -= (lower[column * n + k] as number) ** 2;
    if (!(pivot > 1e-12 * Math.abs(a[column * n + column] as number))) continue;
    const root = Math.sqrt(pivot);
    lower[column * n + column] = root;
    for (let row = column + 1; row < n; row++) {
      let sum = a[row * n + column] as number;
      for (let k = 0; k < column; k++) {
        sum -= (lower[row * n + k] as number) * (lower[column * n + k] as number);
      }
      lower[row * n + column] = sum / root;
    }
  }
  return lower;
}
