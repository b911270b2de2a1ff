/** Chooses the lag of each kind and finish, then of each instrument that has enough intervals of its own. */
import type { Fleet } from './fit-drift.ts';
import { devianceOf, gather, type Task } from './fit-register.ts';
import { lagCharge, lowest, ownLagCharge, ownLagFrom } from './lags.ts';
import { setMoisture } from './rows.ts';
import { evidenceShare } from './shared-errors.ts';

export function chooseLags(
  fleet: Fleet,
  tasks: readonly Task[],
  prior: 'flat' | 'trade',
): { groupLag: Record<string, number>; ownLag: Record<string, number> } {
  const { observations, moisture, lagOf, lagDays } = fleet;
  const groupLag: Record<string, number> = {};
  for (const name of new Set(fleet.lagGroupOf)) {
    const members = fleet.lagGroupOf.flatMap((group, g) => (group === name ? [g] : []));
    const finish = fleet.finishOf[members[0] ?? 0] ?? null;
    const chosen = lowest(
      lagDays.map((days, lag) => {
        for (const g of members) lagOf[g] = lag;
        let sum = prior === 'flat' ? 0 : lagCharge(days, finish);
        for (const task of tasks) {
          setMoisture(task.rows, observations, moisture, lagOf);
          sum += evidenceShare * devianceOf(task, gather(task, fleet.ids.length));
        }
        return sum;
      }),
    );
    for (const g of members) lagOf[g] = chosen;
    for (const task of tasks) setMoisture(task.rows, observations, moisture, lagOf);
    groupLag[name] = chosen;
  }
  return { groupLag, ownLag: chooseOwnLags(fleet, tasks, prior) };
}

/** An instrument's own lag, the fleet's coefficients and standard deviations taken as known. */
function chooseOwnLags(
  fleet: Fleet,
  tasks: readonly Task[],
  prior: 'flat' | 'trade',
): Record<string, number> {
  const { lagOf, lagDays, intervals, ids, observations, moisture } = fleet;
  const groups = ids.length;
  const ownLag: Record<string, number> = {};
  const able = ids.flatMap((_, g) => ((intervals[g] as number) >= ownLagFrom ? [g] : []));
  if (able.length === 0) return ownLag;
  const trial = new Int32Array(groups);
  const deviance = lagDays.map((_, lag) => {
    trial.fill(lag);
    const sum = new Float64Array(groups);
    for (const task of tasks) {
      setMoisture(task.rows, observations, moisture, trial);
      addOwnDeviance(task, groups, sum);
      setMoisture(task.rows, observations, moisture, lagOf);
    }
    return sum;
  });
  for (const g of able) {
    const groupDays = lagDays[lagOf[g] as number] as number;
    const chosen = lowest(
      lagDays.map(
        (days, lag) =>
          evidenceShare * (deviance[lag]?.[g] as number) +
          (prior === 'flat' ? 0 : ownLagCharge(days, groupDays)),
      ),
    );
    lagOf[g] = chosen;
    ownLag[ids[g] as string] = chosen;
  }
  return ownLag;
}

/** Adds −2 log-likelihood of each instrument's rows about the fleet's line, its own slope integrated out. */
function addOwnDeviance(task: Task, groups: number, into: Float64Array): void {
  const { fit, kept } = task;
  if (fit === null || fit.residualSd === 0) return;
  const sums = gather(task, groups);
  const p = kept.length;
  const rest = restOf(task, groups);
  const variance = fit.residualSd ** 2;
  const lambda = fit.slopeSd ** 2 / variance;
  for (let g = 0; g < groups; g++) {
    const zz = sums.zx[g * p] as number;
    let zr = sums.zy[g] as number;
    for (let i = 0; i < p; i++) zr -= (sums.zx[g * p + i] as number) * (fit.coefficients[i] as number);
    const growth = 1 + lambda * zz;
    into[g] =
      (into[g] as number) + ((rest[g] as number) - (lambda / growth) * zr ** 2) / variance + Math.log(growth);
  }
}

/** Weighted sum of squares of each instrument's rows about the fleet's line. */
function restOf(task: Task, groups: number): Float64Array {
  const { rows, fit, kept, weight } = task;
  const rest = new Float64Array(groups);
  for (let row = 0; row < rows.count; row++) {
    let miss = rows.y[row] as number;
    kept.forEach((column, i) => {
      miss -= (rows.x[row * 6 + column] as number) * (fit?.coefficients[i] as number);
    });
    const g = rows.group[row] as number;
    rest[g] = (rest[g] as number) + (weight === null ? 1 : (weight[row] as number)) * miss ** 2;
  }
  return rest;
}
