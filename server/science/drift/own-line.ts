/** The line of one instrument: the fleet's coefficients bent by what its own visits say, with their joint covariance. */

import type { DriftPosterior, OwnSlope, RegisterPosterior } from './posterior.ts';
import type { Instrument, Register } from './registers.ts';

export interface OwnLine {
  /** Coefficients in the order of the posterior's columns; the first holds the instrument's own deviation too. */
  readonly coefficients: Float64Array;
  /** columns × columns. */
  readonly covariance: Float64Array;
  readonly deviation: number;
  readonly conditionalSd: number;
  readonly rows: number;
}

/** How far an instrument's own rows are believed: u = gain (z'Wy - z'WX β), and its variance given β. */
export function shrinkage(
  slopeSd: number,
  residualSd: number,
  zz: number,
): { gain: number; variance: number } {
  const slope = slopeSd ** 2;
  const residual = residualSd ** 2;
  if (slope === 0) return { gain: 0, variance: 0 };
  if (residual === 0) return zz > 0 ? { gain: 1 / zz, variance: 0 } : { gain: 0, variance: slope };
  const gain = slope / (residual + slope * zz);
  return { gain, variance: residual * gain };
}

/** What an instrument's own rows of a register say; null where it has none. */
export function sumsOf(
  fitted: RegisterPosterior,
  place: number | undefined,
): { rows: number; zx: readonly number[]; zy: number } | null {
  const rows = place === undefined ? 0 : (fitted.own.rows[place] ?? 0);
  if (place === undefined || rows === 0) return null;
  const p = fitted.columns.length;
  return { rows, zx: fitted.own.zx.slice(place * p, (place + 1) * p), zy: fitted.own.zy[place] as number };
}

/** @param place that of the instrument in `DriftPosterior.instruments` */
export function ownLine(fitted: RegisterPosterior, place: number | undefined): OwnLine {
  const p = fitted.columns.length;
  const own = sumsOf(fitted, place);
  const { gain, variance } = shrinkage(fitted.slopeSd, fitted.residualSd, own?.zx[0] ?? 0);
  const coefficients = Float64Array.from(fitted.coefficients);
  const covariance = Float64Array.from(fitted.covariance);
  let deviation = 0;
  if (own !== null && gain > 0) {
    deviation = own.zy;
    for (let i = 0; i < p; i++) deviation -= (own.zx[i] as number) * (coefficients[i] as number);
    deviation *= gain;
    coefficients[0] = (coefficients[0] as number) + deviation;
    // T C T' with T the identity but for its first row, which loses gain × z'WX.
    const first = (j: number) => {
      let sum = fitted.covariance[j] as number;
      for (let i = 0; i < p; i++)
        sum -= gain * (own.zx[i] as number) * (fitted.covariance[i * p + j] as number);
      return sum;
    };
    for (let j = 0; j < p; j++) covariance[j] = first(j);
    let corner = covariance[0] as number;
    for (let i = 0; i < p; i++) corner -= gain * (own.zx[i] as number) * (covariance[i] as number);
    covariance[0] = corner;
    for (let j = 1; j < p; j++) covariance[j * p] = covariance[j] as number;
  }
  covariance[0] = (covariance[0] as number) + variance;
  return { coefficients, covariance, deviation, conditionalSd: Math.sqrt(variance), rows: own?.rows ?? 0 };
}

/** Cents per %MC of an instrument's register, to be set against the fleet's. */
export function ownSlope(posterior: DriftPosterior, instrument: Instrument, register: Register): OwnSlope {
  const fitted = posterior.registers[register];
  const line = ownLine(fitted, posterior.instruments[instrument.id]);
  const p = fitted.columns.length;
  const upright = instrument.kind === 'upright' ? fitted.columns.indexOf('uprightMoisture') : -1;
  const at = (matrix: ArrayLike<number>, index: number) => matrix[index] as number;
  let slope = at(line.coefficients, 0);
  let variance = at(line.covariance, 0);
  if (upright > 0) {
    slope += at(line.coefficients, upright);
    variance += 2 * at(line.covariance, upright) + at(line.covariance, upright * p + upright);
  }
  return {
    slopeCentsPerPct: slope,
    deviation: line.deviation,
    conditionalSd: line.conditionalSd,
    slopeSd: Math.sqrt(Math.max(0, variance)),
    rows: line.rows,
  };
}
