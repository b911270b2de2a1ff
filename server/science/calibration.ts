/**
 * Humidity sensors against saturated salts: a jar with a wet salt holds its air at a known humidity.
 *
 * Caution: lithium chloride is toxic and some salts irritate; keep jars closed, labelled and away from food and
 * children, and never let a sensor touch the slush.
 */
import { leastSquares } from './least-squares.ts';
import { within } from './range.ts';

export type Salt = 'LiCl' | 'MgCl2' | 'K2CO3' | 'NaBr' | 'NaCl' | 'KCl' | 'K2SO4';

/** Humidity and its uncertainty (two standard deviations), %RH, at 15, 20, 25 and 30 °C. @source Greenspan-1977 (recalled) */
const FIXED_POINTS: Readonly<
  Record<Salt, readonly (readonly [humidityPct: number, uncertaintyPct: number])[]>
> = {
  LiCl: [
    [11.3, 0.35],
    [11.31, 0.31],
    [11.3, 0.27],
    [11.28, 0.24],
  ],
  MgCl2: [
    [33.3, 0.21],
    [33.07, 0.18],
    [32.78, 0.16],
    [32.44, 0.14],
  ],
  K2CO3: [
    [43.15, 0.33],
    [43.16, 0.33],
    [43.16, 0.39],
    [43.17, 0.5],
  ],
  NaBr: [
    [60.68, 0.51],
    [59.14, 0.44],
    [57.57, 0.4],
    [56.03, 0.38],
  ],
  NaCl: [
    [75.61, 0.18],
    [75.47, 0.14],
    [75.29, 0.12],
    [75.09, 0.11],
  ],
  KCl: [
    [85.92, 0.33],
    [85.11, 0.29],
    [84.34, 0.26],
    [83.62, 0.25],
  ],
  K2SO4: [
    [97.89, 0.63],
    [97.59, 0.53],
    [97.3, 0.45],
    [97, 0.4],
  ],
};
const FIRST_C = 15;
const STEP_C = 5;

export const SALTS = Object.keys(FIXED_POINTS) as readonly Salt[];

/**
 * Humidity over a saturated salt, with its uncertainty (two standard deviations), by interpolation.
 * @param temperatureC 15 to 30
 */
export function saltHumidityPct(
  salt: Salt,
  temperatureC: number,
): { humidityPct: number; uncertaintyPct: number } {
  const table = FIXED_POINTS[salt];
  const at = (within('temperatureC', temperatureC, FIRST_C, 30) - FIRST_C) / STEP_C;
  const i = Math.min(Math.floor(at), table.length - 2);
  const [low, lowSd] = table[i] ?? [Number.NaN, Number.NaN];
  const [high, highSd] = table[i + 1] ?? [Number.NaN, Number.NaN];
  return { humidityPct: low + (at - i) * (high - low), uncertaintyPct: lowSd + (at - i) * (highSd - lowSd) };
}

export interface SaltPoint {
  readonly salt: Salt;
  readonly temperatureC: number;
  /** What the sensor showed once it had settled, %RH. */
  readonly readingPct: number;
}

/** true humidity = gain x reading + offset. Plain data. */
export interface Calibration {
  readonly gain: number;
  readonly offsetPct: number;
  /** Variance of gain, of offset, and their covariance. */
  readonly gainVariance: number;
  readonly offsetVariance: number;
  readonly covariance: number;
  /** Where the points lay: beyond them the line is a guess. */
  readonly fromPct: number;
  readonly toPct: number;
  /** Largest distance of a point from the line, %RH; 0 with two points. */
  readonly worstResidualPct: number;
}

/** Reading noise of a sensor settled in a jar, standard deviation, %RH. A proposal. */
const READING_SD_PCT = 0.3;

/**
 * Gain and offset from two, three or more salt jars, by weighted least squares; each jar counts by the uncertainty of
 * its salt and of the reading.
 * @throws RangeError for fewer than two points, or points less than 15 %RH apart (the gain would be noise)
 */
export function saltCalibration(points: readonly SaltPoint[], readingSdPct = READING_SD_PCT): Calibration {
  if (points.length < 2)
    throw new RangeError(`a calibration needs at least two salt points, got ${points.length}`);
  within('readingSdPct', readingSdPct, 0.001, 10);
  const readings = points.map(({ readingPct }) => within('readingPct', readingPct, -20, 120));
  const salts = points.map(({ salt, temperatureC }) => saltHumidityPct(salt, temperatureC));
  const truths = salts.map(({ humidityPct }) => humidityPct);
  const fromPct = Math.min(...truths);
  const toPct = Math.max(...truths);
  if (toPct - fromPct < 15 || Math.max(...readings) - Math.min(...readings) < 5) {
    throw new RangeError('the salt points must lie at least 15 %RH apart, and their readings 5');
  }
  const weights = salts.map(({ uncertaintyPct }) => 1 / ((uncertaintyPct / 2) ** 2 + readingSdPct ** 2));
  const fit = leastSquares(
    readings.map((reading) => [reading, 1]),
    truths,
    weights,
  );
  const [gain = Number.NaN, offsetPct = Number.NaN] = fit.coefficients;
  const [[gainVariance = Number.NaN, covariance = Number.NaN] = [], [, offsetVariance = Number.NaN] = []] =
    fit.unscaledCovariance;
  const residuals = readings.map((reading, i) =>
    Math.abs((truths[i] ?? Number.NaN) - gain * reading - offsetPct),
  );
  return {
    gain,
    offsetPct,
    gainVariance,
    offsetVariance,
    covariance,
    fromPct,
    toPct,
    worstResidualPct: points.length === 2 ? 0 : Math.max(...residuals),
  };
}

/** A reading put right, %RH, kept within 0 to 100. */
export function calibratedPct(calibration: Calibration, readingPct: number | null): number | null {
  if (readingPct === null) return null;
  return Math.min(100, Math.max(0, calibration.gain * readingPct + calibration.offsetPct));
}

/** Uncertainty of a reading put right, one standard deviation of the line alone, %RH. */
export function calibrationSdPct(calibration: Calibration, readingPct: number): number {
  const { gainVariance, offsetVariance, covariance } = calibration;
  return Math.sqrt(gainVariance * readingPct ** 2 + 2 * covariance * readingPct + offsetVariance);
}

export interface ToleranceCheck {
  readonly verdict: 'within' | 'outside' | 'cannot tell';
  /** Largest error of the sensor as it stands between the salt points, %RH, with its sign (reading less truth). */
  readonly worstErrorPct: number;
  readonly reason: string;
}

/**
 * Whether the sensor as it stands (uncorrected) keeps within a tolerance between the salt points. Within and outside
 * are said only where two standard deviations leave no doubt.
 * @param tolerancePct above 0, %RH
 */
export function checkTolerance(calibration: Calibration, tolerancePct: number): ToleranceCheck {
  within('tolerancePct', tolerancePct, 0.1, 50);
  const { gain, offsetPct, fromPct, toPct } = calibration;
  // A line's error is greatest at one of its ends.
  const ends = [fromPct, toPct].map((truePct) => {
    const readingPct = (truePct - offsetPct) / gain;
    return {
      truePct,
      errorPct: readingPct - truePct,
      doubtPct: 2 * calibrationSdPct(calibration, readingPct),
    };
  });
  const [first, second] = ends;
  const worst = first && second && Math.abs(first.errorPct) > Math.abs(second.errorPct) ? first : second;
  const worstErrorPct = worst?.errorPct ?? Number.NaN;
  const verdict = ends.some(({ errorPct, doubtPct }) => Math.abs(errorPct) - doubtPct > tolerancePct)
    ? 'outside'
    : ends.every(({ errorPct, doubtPct }) => Math.abs(errorPct) + doubtPct <= tolerancePct)
      ? 'within'
      : 'cannot tell';
  const shows = `${Math.abs(worstErrorPct).toFixed(1)} %RH too ${worstErrorPct < 0 ? 'low' : 'high'}`;
  const reason =
    `At ${(worst?.truePct ?? Number.NaN).toFixed(0)} %RH the sensor shows ${shows} ` +
    `(± ${(worst?.doubtPct ?? Number.NaN).toFixed(1)}); the tolerance is ${tolerancePct} %RH.`;
  return { verdict, worstErrorPct, reason };
}
