/** One register on its own: weights, sums and fit, and in the end its posterior. */
import { cholesky, inverse, solve } from './cholesky.ts';
import { type Column, columns } from './observation.ts';
import type { RegisterPosterior } from './posterior.ts';
import { registerPrior } from './priors.ts';
import type { Register } from './registers.ts';
import { devianceWithPrior, fitFlat, fitWithPrior, type RegisterPrior, type RemlFit } from './reml.ts';
import { keepColumns, type Rows, width } from './rows.ts';
import { addRows, emptySums, type Sums, throughSlopes } from './sums.ts';

/** A register under work. */
export interface Task {
  readonly register: Register;
  readonly rows: Rows;
  /** null: flat. */
  readonly prior: RegisterPrior | null;
  /** Which of the six columns are fitted. */
  kept: readonly number[];
  /** Weight of each row (null: all alike), and how far it counts as a row at all: a slip does not. */
  readonly weight: Float64Array | null;
  readonly counted: Float64Array;
  sums: Sums;
  fit: RemlFit | null;
}

/** Figures that all registers share. */
export interface Shared {
  readonly groups: number;
  moistureErrorShare: number;
  onlyA4Variance: number;
}

export function openTask(
  register: Register,
  rows: Rows,
  groups: number,
  flat: boolean,
  weighted: boolean,
): Task {
  return {
    register,
    rows,
    prior: flat ? null : registerPrior(register),
    kept: flat ? distinguishable(rows) : columns.map((_, index) => index),
    weight: weighted ? new Float64Array(rows.count).fill(1) : null,
    counted: new Float64Array(rows.count).fill(1),
    sums: emptySums(0, groups),
    fit: null,
  };
}

/** Without a prior only columns that vary, and that no others add up to, have a coefficient. */
function distinguishable(rows: Rows): number[] {
  const cross = new Float64Array(width * width);
  for (let row = 0; row < rows.count; row++) {
    for (let i = 0; i < width; i++) {
      const value = rows.x[row * width + i] as number;
      if (value === 0) continue;
      for (let j = 0; j < width; j++) {
        cross[i * width + j] = (cross[i * width + j] as number) + value * (rows.x[row * width + j] as number);
      }
    }
  }
  const kept: number[] = [];
  for (let column = 0; column < width; column++) {
    const trial = [...kept, column];
    const part = trial.flatMap((i) => trial.map((j) => cross[i * width + j] as number));
    if (cholesky(part, trial.length) !== null) kept.push(column);
    else if (column === 0) return [];
  }
  return kept;
}

export function gather(task: Task, groups: number): Sums {
  const x = keepColumns(task.rows, task.kept);
  return addRows(
    emptySums(task.kept.length, groups),
    x,
    task.rows.y,
    task.rows.group,
    task.weight,
    task.counted,
  );
}

/**
 * Where weighing starts from: what the trade expects, widely. Starting from a plain fit would let a wild reading first widen the
 * fleet's spread and then pass for an instrument that differs.
 */
export function startFromPrior(task: Task, groups: number): void {
  const { prior } = task;
  if (prior === null) {
    refit(task, groups);
    return;
  }
  task.sums = gather(task, groups);
  task.fit = {
    coefficients: Float64Array.from(prior.mean),
    covariance: new Float64Array(prior.mean.length ** 2),
    slopeSd: prior.slopeSd.median,
    residualSd: 1.5 * prior.residualSd.median,
    logLikelihood: null,
  };
}

export function refit(task: Task, groups: number): void {
  task.sums = gather(task, groups);
  task.fit = fitSums(task, task.sums);
}

export function fitSums(task: Task, sums: Sums): RemlFit | null {
  if (task.kept.length === 0) return null;
  return task.prior === null ? fitFlat(sums) : fitWithPrior(sums, task.prior, task.fit);
}

/** −2 log-likelihood of other sums (another lag, say), the standard deviations held where a prior allows it. */
export function devianceOf(task: Task, sums: Sums): number {
  if (task.fit === null) return 0;
  if (task.prior === null) return -2 * (fitFlat(sums)?.logLikelihood ?? 0);
  return devianceWithPrior(sums, task.prior, task.fit.slopeSd, task.fit.residualSd);
}

export function posteriorOf(task: Task, ids: readonly string[]): RegisterPosterior {
  const { fit, sums, kept, rows } = task;
  const measured = ids.reduce((count, _, g) => count + ((sums.groupRows[g] ?? 0) > 0 ? 1 : 0), 0);
  const names = kept.map((index) => columns[index] as Column);
  const counts = { rows: rows.count, instruments: measured };
  if (fit === null) {
    return {
      state: 'unknown',
      note: 'Too few intervals with a change of moisture, and no prior to stand in for them.',
      columns: [],
      coefficients: [],
      covariance: [],
      slopeSd: 0,
      residualSd: 0,
      logLikelihood: null,
      ...counts,
      precision: [],
      right: [],
      own: { rows: [], zx: [], zy: [] },
    };
  }
  const { precision, right } = normalEquations(task, fit);
  return {
    state: rows.count === 0 ? 'prior only' : fit.residualSd === 0 ? 'exact' : 'fitted',
    note: noteOn(task, fit, measured),
    columns: names,
    coefficients: Array.from(fit.coefficients),
    covariance: Array.from(fit.covariance),
    slopeSd: fit.slopeSd,
    residualSd: fit.residualSd,
    logLikelihood: fit.logLikelihood,
    ...counts,
    precision,
    right,
    own: { rows: Array.from(sums.groupRows), zx: Array.from(sums.zx), zy: Array.from(sums.zy) },
  };
}

function noteOn(task: Task, fit: RemlFit, measured: number): string | null {
  if (task.rows.count === 0) return 'Nothing measured yet: what the trade expects.';
  if (fit.residualSd === 0) return 'Every reading lies on its line: the residual cannot be judged.';
  if (measured === 1) return 'One instrument: how much instruments differ cannot be learned from it.';
  if (measured === task.rows.count) {
    return 'One interval each: how much instruments differ is read from how the scatter grows with the moisture change.';
  }
  return null;
}

function normalEquations(task: Task, fit: RemlFit): { precision: number[]; right: number[] } {
  if (fit.residualSd === 0) return { precision: [], right: [] };
  const p = task.kept.length;
  const a = new Float64Array(p * p);
  const b = new Float64Array(p);
  const variance = fit.residualSd ** 2;
  throughSlopes(task.sums, fit.slopeSd ** 2 / variance, { a, b });
  const precision = Array.from(a, (value) => value / variance);
  const right = Array.from(b, (value) => value / variance);
  task.prior?.sd.forEach((sd, i) => {
    precision[i * p + i] = (precision[i * p + i] as number) + 1 / sd ** 2;
    right[i] = (right[i] as number) + (task.prior?.mean[i] as number) / sd ** 2;
  });
  return { precision, right };
}

/** Coefficients and covariance from the normal equations; used again when a visit is added. */
export function fromNormalEquations(
  precision: readonly number[],
  right: readonly number[],
): { coefficients: number[]; covariance: number[] } | null {
  const p = right.length;
  const lower = cholesky(precision, p);
  if (lower === null) return null;
  return { coefficients: Array.from(solve(lower, p, right)), covariance: Array.from(inverse(lower, p)) };
}
