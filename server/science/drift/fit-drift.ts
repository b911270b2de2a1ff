/** Fits the drift of a fleet: five registers one by one, and what they share. */

import { chooseLags } from './choose-lags.ts';
import { correlationOf, usualResidualCorrelation, usualSlopeCorrelation } from './correlation.ts';
import { openTask, posteriorOf, refit, type Shared, startFromPrior, type Task } from './fit-register.ts';
import { lagGridDays, lagGroup, usualWeights } from './lags.ts';
import { checkObservation, type DriftObservation } from './observation.ts';
import type { DriftPosterior, RegisterPosterior } from './posterior.ts';
import { type Finish, type Register, registers } from './registers.ts';
import { rowsOf } from './rows.ts';
import { chooseMoistureError, chooseOnlyA4Variance } from './shared-errors.ts';
import { deviations, judge, reweigh } from './weigh.ts';

export interface FitOptions {
  /**
   * `flat`: nothing but the rows speaks, as the reference software fits it. `trade`: what the trade expects, fading as visits
   * come in.
   */
  readonly prior: 'flat' | 'trade';
  /** `normal`: all rows alike. `student`: the working model, robust, with rows weighed by what they can tell. */
  readonly residual?: 'normal' | 'student';
  /** The lags (days) that `moistureChangePct` has values for. */
  readonly lagDays?: readonly number[];
}

/** The fleet under work: its observations, and the lag each instrument has now. */
export interface Fleet {
  readonly observations: readonly DriftObservation[];
  readonly ids: readonly string[];
  readonly finishOf: readonly (Finish | null)[];
  readonly lagGroupOf: readonly string[];
  readonly intervals: Int32Array;
  readonly lagDays: readonly number[];
  /** Per lag, per observation. */
  readonly moisture: readonly Float64Array[];
  /** Per instrument: how likely each lag is. */
  readonly weightsOf: (readonly number[])[];
}

/** Passes over weights, shared errors and lags; later ones change the third digit. */
const passes = 3;

/**
 * @param observations intervals to learn from (see `observationsOf`); may be empty.
 * @throws RangeError naming the observation and field that is not a number, or a lag grid that does not fit.
 */
export function fitDrift(observations: readonly DriftObservation[], options: FitOptions): DriftPosterior {
  const residual = options.residual ?? (options.prior === 'flat' ? 'normal' : 'student');
  const fleet = openFleet(observations, options.lagDays);
  const groupOf = groupsOf(fleet);
  const groups = fleet.ids.length;
  const weighted = residual === 'student';
  const shared: Shared = {
    groups,
    moistureErrorShare: weighted ? 0.1 : 0,
    onlyA4Variance: weighted ? 1.5 : 1,
  };
  const tasks = registers.map((register) => {
    const rows = rowsOf(register, observations, groupOf, fleet);
    const task = openTask(register, rows, groups, options.prior === 'flat', weighted);
    if (weighted) startFromPrior(task, groups);
    else refit(task, groups);
    return task;
  });

  let groupLag: Record<string, readonly number[]> = {};
  let ownLag: Record<string, readonly number[]> = {};
  const isChoice = fleet.lagDays.length > 1 && observations.length > 0;
  for (let pass = 0; pass < passes && (weighted || isChoice); pass++) {
    if (weighted) {
      for (const task of tasks) settle(task, shared, pass === 0 ? 6 : 3);
      chooseMoistureError(tasks, shared);
      chooseOnlyA4Variance(tasks, shared);
    }
    if (isChoice) {
      ({ groupLag, ownLag } = chooseLags(fleet, tasks, options.prior));
    }
    for (const task of tasks) refit(task, groups);
  }
  if (weighted) for (const task of tasks) settle(task, shared, 3);

  return {
    prior: options.prior,
    residual,
    registers: Object.fromEntries(
      tasks.map((task) => [task.register, posteriorOf(task, fleet.ids)]),
    ) as Record<Register, RegisterPosterior>,
    instruments: Object.fromEntries(fleet.ids.map((id, place) => [id, place])),
    moistureErrorShare: shared.moistureErrorShare,
    onlyA4Variance: shared.onlyA4Variance,
    residualCorrelation: residualCorrelation(tasks, shared, observations.length),
    slopeCorrelation: slopeCorrelation(tasks, groups),
    lagDays: fleet.lagDays,
    groupLag,
    ownLag,
    observations: observations.length,
    untilMs:
      observations.length === 0
        ? null
        : observations.reduce((last, { toMs }) => Math.max(last, toMs), -Infinity),
  };
}

/** Weighs and fits in turn until the wild readings have lost their pull. */
function settle(task: Task, shared: Shared, times: number): void {
  if (task.rows.count === 0) {
    refit(task, shared.groups);
    return;
  }
  for (let i = 0; i < times; i++) {
    reweigh(task, shared);
    refit(task, shared.groups);
  }
}

function openFleet(observations: readonly DriftObservation[], lagDays?: readonly number[]): Fleet {
  const first = observations[0]?.moistureChangePct;
  const grid = lagDays ?? (Array.isArray(first) || first === undefined ? lagGridDays : [Number.NaN]);
  const index = new Map<string, number>();
  const ids: string[] = [];
  const finishOf: (Finish | null)[] = [];
  const lagGroupOf: string[] = [];
  const intervals: number[] = [];
  const moisture = grid.map(() => new Float64Array(observations.length));
  observations.forEach((observation, i) => {
    checkObservation(observation, grid.length);
    const { instrument, kind, finish, moistureChangePct } = observation;
    const known = index.get(instrument);
    if (known === undefined) {
      index.set(instrument, ids.length);
      ids.push(instrument);
      finishOf.push(finish);
      lagGroupOf.push(lagGroup(kind, finish));
      intervals.push(1);
    } else {
      intervals[known] = (intervals[known] as number) + 1;
    }
    grid.forEach((_, lag) => {
      const column = moisture[lag] as Float64Array;
      column[i] =
        typeof moistureChangePct === 'number' ? moistureChangePct : (moistureChangePct[lag] as number);
    });
  });
  const weightsOf = finishOf.map((finish) => usualWeights(grid, finish));
  return {
    observations,
    ids,
    finishOf,
    lagGroupOf,
    intervals: Int32Array.from(intervals),
    lagDays: grid,
    moisture,
    weightsOf,
  };
}

function groupsOf(fleet: Fleet): Int32Array {
  const index = new Map(fleet.ids.map((id, g) => [id, g]));
  return Int32Array.from(fleet.observations, ({ instrument }) => index.get(instrument) ?? 0);
}

function residualCorrelation(tasks: readonly Task[], shared: Shared, count: number): number[] {
  const values = tasks.map((task) => {
    const { miss, ratio } = judge(task, shared);
    const scale = task.fit?.residualSd ?? 0;
    const byInterval = new Float64Array(count).fill(Number.NaN);
    task.rows.observation.forEach((index, row) => {
      if (scale > 0) byInterval[index] = (miss[row] as number) / (scale * Math.sqrt(ratio[row] as number));
    });
    return byInterval;
  });
  return correlationOf(values, usualResidualCorrelation);
}

function slopeCorrelation(tasks: readonly Task[], groups: number): number[] {
  const values = tasks.map((task) => {
    const sd = task.fit?.slopeSd ?? 0;
    const { deviation } = deviations(task, groups);
    return deviation.map((value, g) =>
      (task.sums.groupRows[g] ?? 0) < 2 || sd === 0 ? Number.NaN : value / sd,
    );
  });
  return correlationOf(values, usualSlopeCorrelation);
}
