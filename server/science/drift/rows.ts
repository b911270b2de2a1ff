/** The observations of one register as flat columns, so that refitting with other weights or lags touches numbers only. */
import { columns, columnValues, type DriftObservation } from './observation.ts';
import type { Register } from './registers.ts';

export interface Rows {
  readonly count: number;
  /** Row -> index of the observation, and of the instrument. */
  readonly observation: Int32Array;
  readonly group: Int32Array;
  /** count × 6; the two moisture columns are the mean over the likely lags. */
  readonly x: Float64Array;
  /** Variance of the moisture change over the likely lags (%MC²). */
  readonly lagVariance: Float64Array;
  readonly y: Float64Array;
  readonly onlyA4: Uint8Array;
  readonly upright: Uint8Array;
  readonly years: Float64Array;
}

export const width = columns.length;

/** What the moisture columns are made of: the change at each lag, and how likely each lag is for each instrument. */
export interface MoistureByLag {
  /** Per lag, per observation. */
  readonly moisture: readonly Float64Array[];
  readonly weightsOf: readonly (readonly number[])[];
}

export function rowsOf(
  register: Register,
  observations: readonly DriftObservation[],
  groupOf: Int32Array,
  byLag: MoistureByLag,
): Rows {
  const taken: number[] = [];
  observations.forEach((observation, index) => {
    if (observation.changeCents[register] !== undefined) taken.push(index);
  });
  const count = taken.length;
  const rows: Rows = {
    count,
    observation: Int32Array.from(taken),
    group: new Int32Array(count),
    x: new Float64Array(count * width),
    lagVariance: new Float64Array(count),
    y: new Float64Array(count),
    onlyA4: new Uint8Array(count),
    upright: new Uint8Array(count),
    years: new Float64Array(count),
  };
  taken.forEach((index, row) => {
    const observation = observations[index] as DriftObservation;
    rows.group[row] = groupOf[index] as number;
    rows.x.set(columnValues(observation.kind, 0, observation), row * width);
    rows.y[row] = observation.changeCents[register] as number;
    rows.onlyA4[row] = observation.onlyA4 === true ? 1 : 0;
    rows.upright[row] = observation.kind === 'upright' ? 1 : 0;
    rows.years[row] = observation.years;
  });
  setMoisture(rows, byLag);
  return rows;
}

/** Writes the moisture columns for the weights that each instrument's lags have now. */
export function setMoisture(rows: Rows, { moisture, weightsOf }: MoistureByLag): void {
  for (let row = 0; row < rows.count; row++) {
    const index = rows.observation[row] as number;
    const weights = weightsOf[rows.group[row] as number] as readonly number[];
    let mean = 0;
    let square = 0;
    for (let lag = 0; lag < weights.length; lag++) {
      const weight = weights[lag] as number;
      const change = (moisture[lag] as Float64Array)[index] as number;
      mean += weight * change;
      square += weight * change * change;
    }
    rows.x[row * width] = mean;
    rows.x[row * width + 1] = rows.upright[row] === 1 ? mean : 0;
    rows.lagVariance[row] = Math.max(0, square - mean * mean);
  }
}

/** Keeps some of the six columns: those that the rows can tell apart. */
export function keepColumns(rows: Rows, kept: readonly number[]): Float64Array {
  if (kept.length === width) return rows.x;
  const out = new Float64Array(rows.count * kept.length);
  for (let row = 0; row < rows.count; row++) {
    kept.forEach((column, i) => {
      out[row * kept.length + i] = rows.x[row * width + column] as number;
    });
  }
  return out;
}
