/** Two errors that all registers share: that of the moisture change, and the extra one of a reading of A4 alone. */
import { deviations, fitSums, gather, reweigh, type Shared, type Task } from './fit-register.ts';
import { minimiseScalar } from './minimise.ts';
import { moistureErrorScale } from './priors.ts';
import { keepColumns } from './rows.ts';

/** Five registers whose residuals go together tell about as much as two that do not (5 / (1 + 4 × 0.4) = 1.9). */
export const evidenceShare = 0.4;

/**
 * The moisture change is worked out from sensors, a lag and a table, not measured: its error grows with the change, and moves all
 * registers in step. κ is the most probable share under a half-normal prior, everything else fitted anew at each trial; how wild
 * each row is stays as it was.
 */
export function chooseMoistureError(tasks: readonly Task[], shared: Shared): void {
  const deviance = (share: number): number => {
    let sum = 0;
    for (const task of tasks) {
      const { fit, weight, rows } = task;
      if (fit === null || weight === null || rows.count === 0) continue;
      const kept = Float64Array.from(weight);
      const wildness = Float64Array.from(task.wildness);
      reweigh(task, { ...shared, moistureErrorShare: share });
      for (let row = 0; row < rows.count; row++) {
        weight[row] = ((weight[row] as number) / (task.wildness[row] as number)) * (wildness[row] as number);
      }
      sum += -2 * (fitSums(task, gather(task, shared.groups))?.logLikelihood ?? 0);
      weight.set(kept);
      task.wildness.set(wildness);
    }
    return evidenceShare * sum + (share / moistureErrorScale) ** 2;
  };
  shared.moistureErrorShare = minimiseScalar(deviance, 0, 0.6, { looks: 5, tolerance: 0.02 });
}

/** Pairs a prior of twice the variance counts for (proposal). */
const usualPairs = 10;

/** How much larger the variance of A4 alone is, from the squares about the lines: at least as large, at most five times. */
export function chooseOnlyA4Variance(tasks: readonly Task[], shared: Shared): void {
  const middle = tasks.find(({ register }) => register === 'middle');
  if (middle === undefined || middle.fit === null || middle.fit.residualSd === 0) return;
  const residuals = new Float64Array(middle.rows.count);
  reweigh(middle, shared, residuals);
  const { variance } = deviations(middle, shared.groups);
  const x = keepColumns(middle.rows, [0]);
  const scale = middle.fit.residualSd ** 2;
  let squares = 2 * usualPairs;
  let rows = usualPairs;
  residuals.forEach((residual, row) => {
    if (middle.rows.onlyA4[row] !== 1) return;
    const own = ((x[row] as number) ** 2 * (variance[middle.rows.group[row] as number] as number)) / scale;
    squares += (middle.wildness[row] as number) * (residual ** 2 * shared.onlyA4Variance + own);
    rows++;
  });
  shared.onlyA4Variance = Math.min(5, Math.max(1, squares / rows));
}
