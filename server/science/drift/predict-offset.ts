/** Where a register stands after a change of moisture, temperature and time, how sure that is, and what moved it. */

import { quadraticForm } from './cholesky.ts';
import { lagWeightsOf, overLags } from './lags.ts';
import { columns, columnValues } from './observation.ts';
import { type OwnLine, ownLine } from './own-line.ts';
import type { DriftPosterior, RegisterPosterior } from './posterior.ts';
import type { Instrument, Register } from './registers.ts';
import { band, probabilityOutside, residualGrowth, type Spread, spreadSd, tVariance } from './residual.ts';

/** What happened since a register was left. */
export interface Change {
  /** As left (cents), and how sure that was beyond a usual reading. */
  readonly leftCents: number;
  readonly leftSdCents?: number;
  /** Change of the board's mean moisture (%MC): one value, or one for each lag of the posterior's grid. */
  readonly moistureChangePct: number | readonly number[];
  /** How sure that is where it was not measured through: borrowed from a neighbour, say (%MC). */
  readonly moistureChangeSdPct?: number;
  readonly years: number;
  readonly temperatureChangeC: number;
  readonly settlingCents?: number;
  readonly freshStrings?: number;
  /** True where a reading of A4 alone is to be foretold: it scatters more than a register. */
  readonly onlyA4?: boolean;
}

export interface OffsetPrediction extends Spread {
  readonly sdCents: number;
  /** Means of the parts; they add up to the mean less what was left. */
  readonly parts: {
    readonly moistureCents: number;
    readonly temperatureCents: number;
    readonly ageingCents: number;
    /** Settling after a raise, and creep of new strings. */
    readonly settlingCents: number;
  };
}

/**
 * @returns null where nothing was learned and no prior stands in.
 * @throws RangeError where a change is not a number or years are negative.
 */
export function predictOffset(
  posterior: DriftPosterior,
  instrument: Instrument,
  register: Register,
  change: Change,
): OffsetPrediction | null {
  const fitted = posterior.registers[register];
  if (fitted.state === 'unknown') return null;
  return predictAlong(
    posterior,
    fitted,
    ownLine(fitted, posterior.instruments[instrument.id]),
    instrument,
    change,
  );
}

/** The same with the instrument's line at hand, for many changes of one instrument. */
export function predictAlong(
  posterior: DriftPosterior,
  fitted: RegisterPosterior,
  line: OwnLine,
  instrument: Instrument,
  change: Change,
): OffsetPrediction {
  const { onlyA4 = false, ...numbers } = change;
  for (const [name, value] of Object.entries(numbers)) {
    for (const one of Array.isArray(value) ? value : [value]) {
      if (!Number.isFinite(one)) throw new RangeError(`${name} must be a finite number, not ${one}`);
    }
  }
  if (change.years < 0) throw new RangeError(`years must not be negative, not ${change.years}`);
  const moisture = overLags(change.moistureChangePct, lagWeightsOf(posterior, instrument));
  const values = columnValues(instrument.kind, moisture.mean, change);
  const x = fitted.columns.map((column) => values[columns.indexOf(column)] as number);
  const part = (...names: readonly (typeof columns)[number][]) =>
    fitted.columns.reduce(
      (sum, column, i) =>
        names.includes(column) ? sum + (x[i] as number) * (line.coefficients[i] as number) : sum,
      0,
    );
  const parts = {
    moistureCents: part('moisture', 'uprightMoisture'),
    temperatureCents: part('temperature'),
    ageingCents: part('years'),
    settlingCents: part('settling', 'freshStrings'),
  };
  const slope = slopeOf(fitted, line, instrument);
  const lineVariance = Math.max(0, quadraticForm(line.covariance, x.length, x));
  const normalSdCents = Math.hypot(
    Math.sqrt(lineVariance),
    change.leftSdCents ?? 0,
    slope * (change.moistureChangeSdPct ?? 0),
  );
  const lagSd = slope * moisture.sd;
  const growth =
    (posterior.residual === 'student' ? residualGrowth(change.years) : 1) *
    (onlyA4 ? posterior.onlyA4Variance : 1);
  const errorSd = Math.hypot(
    fitted.residualSd * Math.sqrt(growth),
    posterior.moistureErrorShare * parts.moistureCents,
    lagSd,
  );
  const spread = {
    meanCents:
      change.leftCents +
      parts.moistureCents +
      parts.temperatureCents +
      parts.ageingCents +
      parts.settlingCents,
    // A residual fitted as normal has its standard deviation in `residualSd`; it belongs to the normal part then.
    normalSdCents: posterior.residual === 'student' ? normalSdCents : Math.hypot(normalSdCents, errorSd),
    tScaleCents: posterior.residual === 'student' ? errorSd : 0,
  };
  return { ...spread, sdCents: spreadSd(spread), parts };
}

function slopeOf(fitted: RegisterPosterior, line: OwnLine, instrument: Instrument): number {
  const upright = instrument.kind === 'upright' ? fitted.columns.indexOf('uprightMoisture') : -1;
  return (line.coefficients[0] as number) + (upright < 0 ? 0 : (line.coefficients[upright] as number));
}

/** P(|offset| > limit). */
export function beyondTolerance(prediction: Spread, limitCents: number): number {
  return probabilityOutside(prediction, limitCents);
}

export { band, tVariance };
