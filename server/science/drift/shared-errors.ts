/** Two errors that all registers share: that of the moisture change, and the extra one of a reading of A4 alone. */
import { refit, type Shared, type Task } from './fit-register.ts';
import { moistureErrorScale } from './priors.ts';
import { keepColumns } from './rows.ts';
import { deviations, foretoldDeviance, judge, reweigh } from './weigh.ts';

/** Five registers whose residuals go together tell about as much as two that do not (5 / (1 + 4 × 0.4) = 1.9). */
export const evidenceShare = 0.4;

/** Error shares that are tried. */
const shares = [0, 0.05, 0.1, 0.15, 0.2, 0.25, 0.3, 0.4, 0.5];

/**
 * The moisture change is worked out from sensors, a lag and a table, not measured: its error grows with the change, and moves all
 * registers in step. κ is the most probable share under a half-normal prior, everything else fitted anew at each trial.
 */
export function chooseMoistureError(tasks: readonly Task[], shared: Shared): void {
  const deviance = (share: number): number => {
    const trial = { ...shared, moistureErrorShare: share };
    let sum = 0;
    for (const task of tasks) {
      if (task.rows.count === 0 || task.fit === null || task.weight === null) continue;
      const kept = {
        fit: task.fit,
        sums: task.sums,
        weight: Float64Array.from(task.weight),
        counted: Float64Array.from(task.counted),
      };
      reweigh(task, trial);
      refit(task, shared.groups);
      sum += foretoldDeviance(task, trial);
      task.fit = kept.fit;
      task.sums = kept.sums;
      task.weight.set(kept.weight);
      task.counted.set(kept.counted);
    }
    return evidenceShare * sum + (share / moistureErrorScale) ** 2;
  };
  // Downhill along a grid from where it stands: the likelihood is broad, and a finer answer would be noise.
  let at = shares.indexOf(shared.moistureErrorShare);
  let here = deviance(shares[at] as number);
  for (const step of [1, -1]) {
    for (;;) {
      const next = shares[at + step];
      const there = next === undefined ? Number.POSITIVE_INFINITY : deviance(next);
      if (there >= here) break;
      here = there;
      at += step;
    }
  }
  shared.moistureErrorShare = shares[at] as number;
}

/** Pairs a prior of twice the variance counts for (proposal). */
const usualPairs = 10;

/** How much larger the variance of A4 alone is, from the squares about the lines: at least as large, at most five times. */
export function chooseOnlyA4Variance(tasks: readonly Task[], shared: Shared): void {
  const middle = tasks.find(({ register }) => register === 'middle');
  if (middle === undefined || middle.fit === null || middle.fit.residualSd === 0) return;
  const { miss, ratio } = judge(middle, shared);
  const { variance } = deviations(middle, shared.groups);
  const z = keepColumns(middle.rows, [0]);
  const scale = middle.fit.residualSd ** 2;
  let squares = 2 * usualPairs;
  let rows = usualPairs;
  miss.forEach((cents, row) => {
    if (middle.rows.onlyA4[row] !== 1) return;
    const own = (z[row] as number) ** 2 * (variance[middle.rows.group[row] as number] as number);
    const square = Math.min(9, (cents ** 2 + own) / (scale * (ratio[row] as number)));
    squares += square * shared.onlyA4Variance;
    rows++;
  });
  shared.onlyA4Variance = Math.min(5, Math.max(1, squares / rows));
}
