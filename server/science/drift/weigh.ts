/**
 * What each row is worth. A reading is judged by how far it lies from what the rest of its instrument's readings and the fleet
 * would have foretold (left out one by one), so that it cannot bend the line it is judged by; beyond that, rows weigh less the
 * longer the interval, where A4 alone was measured, and where the moisture change itself was unsure.
 *
 * @source Lange-1989-robust-t
 */
import type { Shared, Task } from './fit-register.ts';
import { shrinkage } from './own-line.ts';
import { degreesOfFreedom, residualGrowth } from './residual.ts';
import { keepColumns } from './rows.ts';

/** Per row, in cents: distance from the instrument's line, and from what was foretold without the row, with its variance. */
export interface Judged {
  readonly miss: Float64Array;
  readonly ratio: Float64Array;
  readonly foretoldMiss: Float64Array;
  readonly foretoldVariance: Float64Array;
}

/** A slip of the pen or of the device: one reading in a hundred, anywhere within a semitone to either side (proposal). */
const slipShare = 0.01;
const slipDensity = 1 / 200;
/** Density of the t law of unit scale at its middle: Γ(3) / (√(5π) Γ(5/2)). */
const tPeak = 0.3796066898;

const tDensity = (z: number): number =>
  tPeak * (1 + (z * z) / degreesOfFreedom) ** (-(degreesOfFreedom + 1) / 2);

/** Each instrument's deviation from the fleet's slope, and the variance of that. */
export function deviations(task: Task, groups: number): { deviation: Float64Array; variance: Float64Array } {
  const deviation = new Float64Array(groups);
  const variance = new Float64Array(groups);
  const { fit, sums } = task;
  if (fit === null) return { deviation, variance };
  const p = task.kept.length;
  for (let g = 0; g < groups; g++) {
    const own = shrinkage(fit.slopeSd, fit.residualSd, sums.zx[g * p] as number);
    deviation[g] = own.gain * restOf(task, g);
    variance[g] = own.variance;
  }
  return { deviation, variance };
}

/** z'W(y − Xβ) of one instrument. */
function restOf({ fit, sums, kept }: Task, g: number): number {
  const p = kept.length;
  let rest = sums.zy[g] as number;
  for (let i = 0; i < p; i++) {
    rest -= (sums.zx[g * p + i] as number) * (fit?.coefficients[i] as number);
  }
  return rest;
}

/** Judges every row by the fit as it stands; the weights stay as they are. */
export function judge(task: Task, shared: Shared): Judged {
  const { fit, rows, kept, weight, sums } = task;
  const empty = () => new Float64Array(rows.count);
  const judged: Judged = { miss: empty(), ratio: empty(), foretoldMiss: empty(), foretoldVariance: empty() };
  if (fit === null) return judged;
  const { deviation } = deviations(task, shared.groups);
  const x = keepColumns(rows, kept);
  const p = kept.length;
  const upright = kept.indexOf(1);
  const scale = fit.residualSd ** 2;
  for (let row = 0; row < rows.count; row++) {
    const g = rows.group[row] as number;
    const z = x[row * p] as number;
    const w = weight === null ? 1 : (weight[row] as number);
    let aboutFleet = rows.y[row] as number;
    for (let i = 0; i < p; i++) aboutFleet -= (x[row * p + i] as number) * (fit.coefficients[i] as number);
    // The instrument's own deviation without this row.
    const zz = Math.max(0, (sums.zx[g * p] as number) - w * z * z);
    const others = shrinkage(fit.slopeSd, fit.residualSd, zz);
    const deviationWithout = others.gain * (restOf(task, g) - w * z * aboutFleet);
    const slope =
      (fit.coefficients[0] as number) +
      (upright < 0 || rows.upright[row] === 0 ? 0 : (fit.coefficients[upright] as number)) +
      deviationWithout;
    const ratio =
      residualGrowth(rows.years[row] as number) * (rows.onlyA4[row] === 1 ? shared.onlyA4Variance : 1) +
      ((shared.moistureErrorShare * slope * z) ** 2 + slope ** 2 * (rows.lagVariance[row] as number)) / scale;
    judged.miss[row] = aboutFleet - z * (deviation[g] as number);
    judged.ratio[row] = ratio;
    judged.foretoldMiss[row] = aboutFleet - z * deviationWithout;
    judged.foretoldVariance[row] = scale * ratio + z * z * others.variance;
  }
  return judged;
}

/** Weighs every row anew, by how it was judged. */
export function reweigh(task: Task, shared: Shared): void {
  const { weight, counted } = task;
  if (weight === null || task.fit === null) return;
  const { ratio, foretoldMiss, foretoldVariance } = judge(task, shared);
  for (let row = 0; row < weight.length; row++) {
    const { pull, sound } = standingOf(foretoldMiss[row] as number, foretoldVariance[row] as number);
    counted[row] = sound;
    weight[row] = Math.max(1e-9, (sound * pull) / (ratio[row] as number));
  }
}

/** How strongly a reading pulls, by the t law, and how likely it is no slip. */
export function standingOf(missCents: number, variance: number): { pull: number; sound: number } {
  const z = missCents / Math.sqrt(variance);
  const density = ((1 - slipShare) * tDensity(z)) / Math.sqrt(variance);
  return {
    pull: (degreesOfFreedom + 1) / (degreesOfFreedom + z * z),
    sound: density / (density + slipShare * slipDensity),
  };
}

/** −2 log of the density with which each row was foretold without it: what trials of other shared errors are judged by. */
export function foretoldDeviance(task: Task, shared: Shared): number {
  const { foretoldMiss, foretoldVariance } = judge(task, shared);
  let sum = 0;
  for (let row = 0; row < foretoldMiss.length; row++) {
    const sd = Math.sqrt(foretoldVariance[row] as number);
    const density =
      ((1 - slipShare) * tDensity((foretoldMiss[row] as number) / sd)) / sd + slipShare * slipDensity;
    sum -= 2 * Math.log(density);
  }
  return sum;
}
