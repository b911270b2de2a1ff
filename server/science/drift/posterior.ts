/** What was learned, as plain JSON: nothing in it needs a constructor, and a stored one predicts as the day it was fitted. */
import type { Column } from './observation.ts';
import type { Register } from './registers.ts';

/**
 * What each instrument's rows of one register say, in the order of `DriftPosterior.instruments`; with the fleet's figures they give
 * its own slope. Flat arrays, so that adding a visit to a large fleet copies numbers and not a thousand keys.
 */
export interface OwnSums {
  readonly rows: readonly number[];
  /** z'WX: columns per instrument, the first of them z'Wz. */
  readonly zx: readonly number[];
  /** z'Wy. */
  readonly zy: readonly number[];
}

export interface RegisterPosterior {
  /** `exact`: the rows lie on the lines, so no residual could be judged. `unknown`: nothing can be said without a prior. */
  readonly state: 'fitted' | 'prior only' | 'exact' | 'unknown';
  /** What limits it, in a sentence; null where nothing does. */
  readonly note: string | null;
  readonly columns: readonly Column[];
  readonly coefficients: readonly number[];
  /** columns × columns, row by row. */
  readonly covariance: readonly number[];
  /** Spread of the instruments' slopes about the fleet's (cents per %MC). */
  readonly slopeSd: number;
  /** Residual: standard deviation where it is taken as normal, scale of the t law otherwise (cents). */
  readonly residualSd: number;
  readonly logLikelihood: number | null;
  readonly rows: number;
  readonly instruments: number;
  /** Precision of the fixed part with the prior's in it, and its right-hand side: what adding a visit needs. */
  readonly precision: readonly number[];
  readonly right: readonly number[];
  readonly own: OwnSums;
}

export interface DriftPosterior {
  readonly prior: 'flat' | 'trade';
  readonly residual: 'normal' | 'student';
  readonly registers: Readonly<Record<Register, RegisterPosterior>>;
  /** Place of each instrument in the registers' own sums. */
  readonly instruments: Readonly<Record<string, number>>;
  /** Error of the moisture change as a share of it (κ). */
  readonly moistureErrorShare: number;
  /** How much larger the variance of a reading of A4 alone is than that of a register. */
  readonly onlyA4Variance: number;
  /** Correlations between registers (5 × 5, row by row) of the residuals and of the instruments' slopes. */
  readonly residualCorrelation: readonly number[];
  readonly slopeCorrelation: readonly number[];
  /** The grid of lags (days); how likely each is for a kind and finish, and for the instruments that have weights of their own. */
  readonly lagDays: readonly number[];
  readonly groupLag: Readonly<Record<string, readonly number[]>>;
  readonly ownLag: Readonly<Record<string, readonly number[]>>;
  /** Intervals learned from, and the end of the last of them. */
  readonly observations: number;
  readonly untilMs: number | null;
}

/** An instrument's own part: slope, and how sure. */
export interface OwnSlope {
  /** Total slope (cents per %MC) and its deviation from the fleet's of its kind. */
  readonly slopeCentsPerPct: number;
  readonly deviation: number;
  /** Conditional standard deviation of the deviation, the fleet's figures taken as known. */
  readonly conditionalSd: number;
  /** Standard deviation of the total slope, with what is not known of the fleet's. */
  readonly slopeSd: number;
  readonly rows: number;
}
