/**
 * What the rows of one register say, gathered so that the fit never sees a row again: sums over all rows, and per instrument
 * the few that its own slope needs. Rows carry a weight (the inverse of their variance against the residual's).
 */

export interface Sums {
  /** Columns of the fixed part; the first is the moisture change, which also carries the instrument's own slope. */
  readonly columns: number;
  readonly groups: number;
  /** Rows; a slip counts for less than one. */
  rows: number;
  /** X'WX (columns × columns), X'Wy, y'Wy over all rows. */
  readonly xx: Float64Array;
  readonly xy: Float64Array;
  yy: number;
  logWeights: number;
  /** Per group: z'WX (its first entry is z'Wz, since z is the first column), z'Wy and the number of rows. */
  readonly zx: Float64Array;
  readonly zy: Float64Array;
  readonly groupRows: Int32Array;
}

export function emptySums(columns: number, groups: number): Sums {
  return {
    columns,
    groups,
    rows: 0,
    xx: new Float64Array(columns * columns),
    xy: new Float64Array(columns),
    yy: 0,
    logWeights: 0,
    zx: new Float64Array(groups * columns),
    zy: new Float64Array(groups),
    groupRows: new Int32Array(groups),
  };
}

/** Adds all rows: `x` is rows × columns, `group` the instrument of each row; without `weight` all rows are alike; `counted` is how far each counts as a row. */
export function addRows(
  sums: Sums,
  x: Float64Array,
  y: Float64Array,
  group: Int32Array,
  weight: Float64Array | null,
  counted: Float64Array | null = null,
): Sums {
  const { columns, xx, xy, zx, zy, groupRows } = sums;
  for (let row = 0; row < y.length; row++) {
    const at = row * columns;
    const g = group[row] as number;
    const w = weight === null ? 1 : (weight[row] as number);
    const value = y[row] as number;
    const wz = w * (x[at] as number);
    for (let i = 0; i < columns; i++) {
      const wx = w * (x[at + i] as number);
      xy[i] = (xy[i] as number) + wx * value;
      zx[g * columns + i] = (zx[g * columns + i] as number) + wz * (x[at + i] as number);
      for (let j = 0; j <= i; j++) {
        xx[i * columns + j] = (xx[i * columns + j] as number) + wx * (x[at + j] as number);
      }
    }
    zy[g] = (zy[g] as number) + wz * value;
    groupRows[g] = (groupRows[g] as number) + 1;
    sums.yy += w * value * value;
    const share = counted === null ? 1 : (counted[row] as number);
    sums.rows += share;
    if (weight !== null) sums.logWeights += share * Math.log(w);
  }
  for (let i = 0; i < columns; i++) {
    for (let j = 0; j < i; j++) xx[j * columns + i] = xx[i * columns + j] as number;
  }
  return sums;
}

/**
 * X'H⁻¹X, X'H⁻¹y, y'H⁻¹y and log|H| + Σ log w for H = W⁻¹ + λ z z' within each group, by the rank-one inverse: one random slope
 * per group needs no matrix larger than the fixed part.
 */
export function throughSlopes(
  sums: Sums,
  lambda: number,
  into: { a: Float64Array; b: Float64Array },
): { yy: number; logH: number } {
  const { columns, groups, zx, zy } = sums;
  const { a, b } = into;
  a.set(sums.xx);
  b.set(sums.xy);
  let yy = sums.yy;
  let logH = 0;
  if (lambda > 0) {
    for (let g = 0; g < groups; g++) {
      const at = g * columns;
      const growth = 1 + lambda * (zx[at] as number);
      const k = lambda / growth;
      logH += Math.log(growth);
      const t = zy[g] as number;
      yy -= k * t * t;
      for (let i = 0; i < columns; i++) {
        const ks = k * (zx[at + i] as number);
        b[i] = (b[i] as number) - ks * t;
        for (let j = 0; j <= i; j++) {
          a[i * columns + j] = (a[i * columns + j] as number) - ks * (zx[at + j] as number);
        }
      }
    }
    for (let i = 0; i < columns; i++) {
      for (let j = 0; j < i; j++) a[j * columns + i] = a[i * columns + j] as number;
    }
  }
  return { yy, logH };
}
