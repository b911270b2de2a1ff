/** Which lags are likely for each kind and finish, then for each instrument that has enough intervals of its own. */
import type { Fleet } from './fit-drift.ts';
import { devianceOf, gather, type Task } from './fit-register.ts';
import { lagCharge, lagWeights, ownLagFrom, strayed } from './lags.ts';
import { setMoisture, width } from './rows.ts';
import { evidenceShare } from './shared-errors.ts';

export function chooseLags(
  fleet: Fleet,
  tasks: readonly Task[],
  prior: 'flat' | 'trade',
): { groupLag: Record<string, readonly number[]>; ownLag: Record<string, readonly number[]> } {
  const { lagDays, weightsOf } = fleet;
  const groupLag: Record<string, readonly number[]> = {};
  const spread = () => {
    for (const task of tasks) setMoisture(task.rows, fleet);
  };
  for (const name of new Set(fleet.lagGroupOf)) {
    const members = fleet.lagGroupOf.flatMap((group, g) => (group === name ? [g] : []));
    const finish = fleet.finishOf[members[0] ?? 0] ?? null;
    const deviances = lagDays.map((days, lag) => {
      const only = lagDays.map((_, i) => (i === lag ? 1 : 0));
      for (const g of members) weightsOf[g] = only;
      spread();
      return tasks.reduce(
        (sum, task) => sum + evidenceShare * devianceOf(task, gather(task, fleet.ids.length)),
        prior === 'flat' ? 0 : lagCharge(days, finish),
      );
    });
    const weights = strayed(lagWeights(deviances), lagDays);
    for (const g of members) weightsOf[g] = weights;
    spread();
    groupLag[name] = weights;
  }
  const ownLag = ownLags(fleet, tasks);
  spread();
  return { groupLag, ownLag };
}

/** An instrument's own weights: its group's, by what its own rows say about the fleet's line. */
function ownLags(fleet: Fleet, tasks: readonly Task[]): Record<string, readonly number[]> {
  const { lagDays, weightsOf, intervals, ids } = fleet;
  const groups = ids.length;
  const ownLag: Record<string, readonly number[]> = {};
  const able = ids.flatMap((_, g) => ((intervals[g] as number) >= ownLagFrom ? [g] : []));
  if (able.length === 0) return ownLag;
  const kept = [...weightsOf];
  const deviances = lagDays.map((_, lag) => {
    const only = lagDays.map((__, i) => (i === lag ? 1 : 0));
    weightsOf.fill(only);
    const sum = new Float64Array(groups);
    for (const task of tasks) {
      setMoisture(task.rows, fleet);
      addOwnDeviance(task, groups, sum);
    }
    return sum;
  });
  kept.forEach((weights, g) => {
    weightsOf[g] = weights;
  });
  for (const g of able) {
    const group = kept[g] as readonly number[];
    const weights = lagWeights(
      lagDays.map(
        (_, lag) =>
          evidenceShare * (deviances[lag]?.[g] as number) -
          2 * Math.log(Math.max(1e-6, group[lag] as number)),
      ),
    );
    weightsOf[g] = weights;
    ownLag[ids[g] as string] = weights;
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
      miss -= (rows.x[row * width + column] as number) * (fit?.coefficients[i] as number);
    });
    const g = rows.group[row] as number;
    rest[g] = (rest[g] as number) + (weight === null ? 1 : (weight[row] as number)) * miss ** 2;
  }
  return rest;
}
