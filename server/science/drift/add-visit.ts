/** Learns from one more interval without going back to the rows: the fleet's spread and residual stay as they were fitted. */
import { cholesky, inverse, solve } from './cholesky.ts';
import { lagWeightsOf, overLags } from './lags.ts';
import { checkObservation, columns, columnValues, type DriftObservation } from './observation.ts';
import { ownLine, shrinkage, sumsOf } from './own-line.ts';
import type { DriftPosterior, OwnSums, RegisterPosterior } from './posterior.ts';
import { predictAlong } from './predict-offset.ts';
import { type Register, registers } from './registers.ts';
import { residualGrowth } from './residual.ts';
import { standingOf } from './weigh.ts';

/**
 * The posterior with one more interval in it, in less than a millisecond. Standard deviations, lags and shared errors wait for
 * the next fit of the fleet.
 *
 * @throws RangeError where the observation does not fit the posterior's grid of lags.
 */
export function addVisit(posterior: DriftPosterior, observation: DriftObservation): DriftPosterior {
  checkObservation(observation, posterior.lagDays.length);
  const { instrument: id, kind, finish, moistureChangePct } = observation;
  const moisture = overLags(moistureChangePct, lagWeightsOf(posterior, { id, kind, finish })).mean;
  const known = posterior.instruments[id];
  const place = known ?? Object.keys(posterior.instruments).length;
  const updated = { ...posterior.registers };
  for (const register of registers) {
    const change = observation.changeCents[register];
    if (change !== undefined)
      updated[register] = withRow(posterior, register, observation, moisture, change, place);
  }
  return {
    ...posterior,
    registers: updated,
    instruments: known === undefined ? { ...posterior.instruments, [id]: place } : posterior.instruments,
    observations: posterior.observations + 1,
    untilMs: Math.max(posterior.untilMs ?? Number.NEGATIVE_INFINITY, observation.toMs),
  };
}

function withRow(
  posterior: DriftPosterior,
  register: Register,
  observation: DriftObservation,
  moistureChangePct: number,
  changeCents: number,
  place: number,
): RegisterPosterior {
  const fitted = posterior.registers[register];
  // Nothing to add to: the next fit will see the row.
  if (fitted.right.length === 0) return fitted;
  const { kind } = observation;
  const p = fitted.columns.length;
  const values = columnValues(kind, moistureChangePct, observation);
  const x = fitted.columns.map((column) => values[columns.indexOf(column)] as number);
  const weight = weightOf(posterior, fitted, observation, changeCents);

  const before = sumsOf(fitted, place) ?? { rows: 0, zx: new Array<number>(p).fill(0), zy: 0 };
  const z = x[0] as number;
  const after = {
    rows: before.rows + 1,
    zx: before.zx.map((value, i) => value + weight * z * (x[i] as number)),
    zy: before.zy + weight * z * changeCents,
  };
  const variance = fitted.residualSd ** 2;
  const precision = [...fitted.precision];
  const right = [...fitted.right];
  // X'H⁻¹X = X'WX - Σ gain (z'WX)'(z'WX): the row comes in, and the instrument's own term is exchanged.
  const was = shrinkage(fitted.slopeSd, fitted.residualSd, before.zx[0] as number).gain;
  const is = shrinkage(fitted.slopeSd, fitted.residualSd, after.zx[0] as number).gain;
  for (let i = 0; i < p; i++) {
    const own = was * (before.zx[i] as number) * before.zy - is * (after.zx[i] as number) * after.zy;
    right[i] = (right[i] as number) + (weight * (x[i] as number) * changeCents + own) / variance;
    for (let j = 0; j < p; j++) {
      const cross =
        was * (before.zx[i] as number) * (before.zx[j] as number) -
        is * (after.zx[i] as number) * (after.zx[j] as number);
      precision[i * p + j] =
        (precision[i * p + j] as number) + (weight * (x[i] as number) * (x[j] as number) + cross) / variance;
    }
  }
  const lower = cholesky(precision, p);
  if (lower === null) return fitted;
  return {
    ...fitted,
    state: 'fitted',
    note: fitted.state === 'prior only' ? null : fitted.note,
    coefficients: Array.from(solve(lower, p, right)),
    covariance: Array.from(inverse(lower, p)),
    rows: fitted.rows + 1,
    instruments: fitted.instruments + (before.rows === 0 ? 1 : 0),
    precision,
    right,
    own: placed(fitted.own, place, after),
  };
}

/** The sums with one instrument's exchanged, or put in behind instruments that this register has not seen. */
function placed(
  own: OwnSums,
  place: number,
  one: { rows: number; zx: readonly number[]; zy: number },
): OwnSums {
  const p = one.zx.length;
  const rows = [...own.rows];
  const zx = [...own.zx];
  const zy = [...own.zy];
  while (rows.length <= place) {
    rows.push(0);
    zy.push(0);
    for (let i = 0; i < p; i++) zx.push(0);
  }
  rows[place] = one.rows;
  zy[place] = one.zy;
  one.zx.forEach((value, i) => {
    zx[place * p + i] = value;
  });
  return { rows, zx, zy };
}

/** As the fit weighs a row, with what is known before it: a reading far from what was expected pulls little. */
function weightOf(
  posterior: DriftPosterior,
  fitted: RegisterPosterior,
  observation: DriftObservation,
  changeCents: number,
): number {
  if (posterior.residual === 'normal') return 1;
  const { instrument: id, kind, finish } = observation;
  const line = ownLine(fitted, posterior.instruments[id]);
  const expected = predictAlong(
    posterior,
    fitted,
    line,
    { id, kind, finish },
    {
      leftCents: 0,
      moistureChangePct: observation.moistureChangePct,
      years: observation.years,
      temperatureChangeC: observation.temperatureChangeC,
      settlingCents: observation.settlingCents ?? 0,
      freshStrings: observation.freshStrings ?? 0,
    },
  );
  const variance = fitted.residualSd ** 2;
  // All of the t part but the residual itself is there whatever was measured.
  const residual = variance * residualGrowth(observation.years);
  const ratio =
    (expected.tScaleCents ** 2 -
      residual +
      residual * (observation.onlyA4 === true ? posterior.onlyA4Variance : 1)) /
    variance;
  // Before the row is in, what is not known of the line belongs to the scale it is judged by: as in `weigh.ts`.
  const foretold = variance * ratio + expected.normalSdCents ** 2;
  const { pull, sound } = standingOf(changeCents - expected.meanCents, foretold);
  return (sound * pull) / ratio;
}
