/** The observations of one register as flat columns, so that refitting with other weights or lags touches numbers only. */
import { columns, columnValues, type DriftObservation } from './observation.ts';
import type { Register } from './registers.ts';

export interface Rows {
  readonly count: number;
  /** Row -> index of the observation, and of the instrument. */
  readonly observation: Int32Array;
  readonly group: Int32Array;
  /** count × 6; the two moisture columns are those of the lag in use. */
  readonly x: Float64Array;
  readonly y: Float64Array;
  readonly onlyA4: Uint8Array;
  readonly years: Float64Array;
}

export const width = columns.length;

export function rowsOf(
  register: Register,
  observations: readonly DriftObservation[],
  groupOf: Int32Array,
  moisture: readonly Float64Array[],
  lagOf: Int32Array,
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
    y: new Float64Array(count),
    onlyA4: new Uint8Array(count),
    years: new Float64Array(count),
  };
  taken.forEach((index, row) => {
    const observation = observations[index] as DriftObservation;
    rows.group[row] = groupOf[index] as number;
    rows.x.set(columnValues(observation.kind, 0, observation), row * width);
    rows.y[row] = observation.changeCents[register] as number;
    rows.onlyA4[row] = observation.onlyA4 === true ? 1 : 0;
    rows.years[row] = observation.years;
  });
  setMoisture(rows, observations, moisture, lagOf);
  return rows;
}

/** Writes the moisture columns for the lag each instrument has now. */
export function setMoisture(
  rows: Rows,
  observations: readonly DriftObservation[],
  moisture: readonly Float64Array[],
  lagOf: Int32Array,
): void {
  for (let row = 0; row < rows.count; row++) {
    const index = rows.observation[row] as number;
    const change = moisture[lagOf[rows.group[row] as number] as number]?.[index] as number;
    rows.x[row * width] = change;
    rows.x[row * width + 1] = observations[index]?.kind === 'upright' ? change : 0;
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
