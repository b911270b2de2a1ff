/**
 * One register: y = Xβ + z u + e with u ~ N(0, ω²) per instrument, e ~ N(0, σ²/w), z the first column of X.
 *
 * Restricted maximum likelihood. β is integrated out (against a normal prior, or a flat one), so the standard deviations are
 * judged by what is left after the fixed part has been paid for.
 *
 * @source Bates-2015-lme4
 */
import { cholesky, dot, inverse, logDeterminant, solve } from './cholesky.ts';
import { minimise, minimiseScalar } from './minimise.ts';
import { type Sums, throughSlopes } from './sums.ts';

/** Normal prior on the fixed part; log-normal priors on the two standard deviations. */
export interface RegisterPrior {
  readonly mean: readonly number[];
  readonly sd: readonly number[];
  readonly slopeSd: { readonly median: number; readonly logSd: number };
  readonly residualSd: { readonly median: number; readonly logSd: number };
}

export interface RemlFit {
  readonly coefficients: Float64Array;
  /** columns × columns. */
  readonly covariance: Float64Array;
  readonly slopeSd: number;
  readonly residualSd: number;
  /** Restricted log-likelihood (flat), or log marginal likelihood under the prior; null where the rows are fitted exactly. */
  readonly logLikelihood: number | null;
}

const logTwoPi = Math.log(2 * Math.PI);

/**
 * With a flat prior, as the reference software does it: σ² has a closed form given λ = ω²/σ², and λ is searched along one axis.
 *
 * @returns null where the columns cannot be told apart or the rows do not outnumber them.
 */
export function fitFlat(sums: Sums): RemlFit | null {
  const { columns: p, rows } = sums;
  if (rows <= p) return null;
  const a = new Float64Array(p * p);
  const b = new Float64Array(p);
  const at = (lambda: number) => {
    const { yy, logH } = throughSlopes(sums, lambda, { a, b });
    const lower = cholesky(a, p);
    if (lower === null) return null;
    const coefficients = solve(lower, p, b);
    const rest = Math.max(0, yy - dot(coefficients, b));
    const variance = rest / (rows - p);
    const deviance =
      (rows - p) * (logTwoPi + Math.log(variance) + 1) + logH + logDeterminant(lower, p) - sums.logWeights;
    return { lower, coefficients, variance, deviance };
  };

  const without = at(0);
  if (without === null) return null;
  // Less than a ten-millionth of the sum of squares is rounding, not a residual that could be judged.
  const isExact = (variance: number) => variance * rows <= 1e-7 * sums.yy;
  const exact = (fit: typeof without, slopeSd: number): RemlFit => ({
    coefficients: fit.coefficients,
    covariance: inverse(fit.lower, p).map((value) => value * fit.variance),
    slopeSd,
    residualSd: 0,
    logLikelihood: null,
  });
  if (isExact(without.variance)) return exact(without, 0);

  let zz = 0;
  let measured = 0;
  for (let g = 0; g < sums.groups; g++) {
    zz += sums.zx[g * p] as number;
    if ((sums.groupRows[g] as number) > 0) measured++;
  }
  // λ in units of what a typical instrument's rows could show, so that the range fits any scale of z.
  const unit = measured / zz;
  // One instrument: its own slope and the fleet's are the same thing, and the likelihood is level. Otherwise, where more rows
  // stand than lines of their own could bend to, and all lie on such lines, the slopes' spread is that of a plain sample.
  if (measured > 1 && rows > measured + p - 1) {
    const free = unit * Math.exp(20);
    const ownLines = at(free);
    if (ownLines !== null && isExact(ownLines.variance)) {
      return exact(ownLines, Math.sqrt((free * ownLines.variance * (rows - p)) / (measured - 1)));
    }
  }
  const deviance = (logLambda: number) =>
    at(unit * Math.exp(logLambda))?.deviance ?? Number.POSITIVE_INFINITY;
  const logLambda = measured > 1 ? minimiseScalar(deviance, -16, 16, { looks: 24 }) : -16;
  const lambda = deviance(logLambda) < without.deviance - 1e-9 ? unit * Math.exp(logLambda) : 0;
  const best = at(lambda) ?? without;
  return {
    coefficients: best.coefficients,
    covariance: inverse(best.lower, p).map((value) => value * best.variance),
    slopeSd: Math.sqrt(lambda * best.variance),
    residualSd: Math.sqrt(best.variance),
    logLikelihood: -best.deviance / 2,
  };
}

/** −2 log of a log-normal prior, up to a constant. */
export function charge(value: number, { median, logSd }: RegisterPrior['slopeSd']): number {
  return (Math.log(value / median) / logSd) ** 2;
}

/** Room for the small matrices of a fit: a search asks hundreds of times. */
function roomFor(columns: number) {
  const matrix = () => new Float64Array(columns * columns);
  return {
    a: matrix(),
    b: new Float64Array(columns),
    lower: matrix(),
    coefficients: new Float64Array(columns),
  };
}

type Room = ReturnType<typeof roomFor>;

/**
 * −2 log of the marginal density of the rows given both standard deviations, with β integrated out against its normal prior,
 * plus what the log-normal priors charge for them. Leaves the factor of β's precision and its mean in the room.
 */
export function devianceWithPrior(
  sums: Sums,
  prior: RegisterPrior,
  slopeSd: number,
  residualSd: number,
  room: Room = roomFor(sums.columns),
): number {
  const { columns: p, rows } = sums;
  const { a, b } = room;
  const variance = residualSd ** 2;
  const { yy, logH } = throughSlopes(sums, slopeSd ** 2 / variance, room);
  let priorForm = 0;
  let logPrior = 0;
  for (let i = 0; i < p * p; i++) a[i] = (a[i] as number) / variance;
  for (let i = 0; i < p; i++) {
    const precision = 1 / (prior.sd[i] as number) ** 2;
    const mean = prior.mean[i] as number;
    a[i * p + i] = (a[i * p + i] as number) + precision;
    b[i] = (b[i] as number) / variance + precision * mean;
    priorForm += precision * mean ** 2;
    logPrior += Math.log(precision);
  }
  if (cholesky(a, p, room.lower) === null) return Number.POSITIVE_INFINITY;
  solve(room.lower, p, b, room.coefficients);
  return (
    rows * (logTwoPi + Math.log(variance)) -
    sums.logWeights +
    logH +
    logDeterminant(room.lower, p) -
    logPrior +
    yy / variance +
    priorForm -
    dot(room.coefficients, b) +
    charge(slopeSd, prior.slopeSd) +
    charge(residualSd, prior.residualSd)
  );
}

/** With the trade's priors: the most probable standard deviations (on their log scale), and β given them. */
export function fitWithPrior(
  sums: Sums,
  prior: RegisterPrior,
  start: { slopeSd: number; residualSd: number } | null = null,
): RemlFit {
  const p = sums.columns;
  const room = roomFor(p);
  const from = start ?? { slopeSd: prior.slopeSd.median, residualSd: prior.residualSd.median };
  const { x } = minimise(
    ([slope, residual]) =>
      devianceWithPrior(sums, prior, Math.exp(slope as number), Math.exp(residual as number), room),
    [Math.log(from.slopeSd), Math.log(from.residualSd)],
    start === null ? [0.3, 0.3] : [0.06, 0.06],
    { evaluations: start === null ? 80 : 24, tolerance: 1e-4 },
  );
  const slopeSd = Math.exp(x[0] as number);
  const residualSd = Math.exp(x[1] as number);
  const deviance = devianceWithPrior(sums, prior, slopeSd, residualSd, room);
  return {
    coefficients: room.coefficients,
    covariance: inverse(room.lower, p),
    slopeSd,
    residualSd,
    logLikelihood: -deviance / 2,
  };
}
