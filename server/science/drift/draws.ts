/**
 * Joint draws of how one instrument moves: its line in every register, and the residuals of one occasion. The same draws serve
 * every day of a path and both runs of a comparison, so that a difference is a difference of climates and not of luck.
 */
import { cholesky, inverse, semiCholesky } from './cholesky.ts';
import type { columns } from './observation.ts';
import { ownLine, sumsOf } from './own-line.ts';
import type { DriftPosterior, RegisterPosterior } from './posterior.ts';
import { meanSquare, type Random } from './random.ts';
import { type Instrument, type Register, registers } from './registers.ts';
import { degreesOfFreedom, residualGrowth } from './residual.ts';

const n = registers.length;

/** Per register, one entry per draw: the coefficients that a change is multiplied by, and a residual of unit scale. */
export interface RegisterDraws {
  readonly register: Register;
  /** Cents per %MC, the upright's part included; per year; per kelvin; per cent of raise; per set of strings. */
  readonly moisture: Float64Array;
  readonly years: Float64Array;
  readonly temperature: Float64Array;
  readonly settling: Float64Array;
  readonly freshStrings: Float64Array;
  readonly residual: Float64Array;
  /** Residual scale in cents. */
  readonly residualSd: number;
}

export interface DriftDraws {
  readonly count: number;
  readonly registers: readonly RegisterDraws[];
  readonly moistureErrorShare: number;
  /** False: the residual has its full variance from the first day, as a plainly fitted one has. */
  readonly grows: boolean;
}

/** Registers of which nothing is known are left out. */
export function drawDrift(
  posterior: DriftPosterior,
  instrument: Instrument,
  count: number,
  random: Random,
): DriftDraws {
  const known = registers.filter((register) => posterior.registers[register].state !== 'unknown');
  const places = known.map((register) => registers.indexOf(register));
  const residualFactor = factorOf(posterior.residualCorrelation, places);
  const lineFactor = factorOf(lineCorrelation(posterior, instrument), places);
  const drawn = known.map((register) => open(posterior, register, instrument, count));
  const width = Math.max(0, ...drawn.map(({ p }) => p));
  const m = known.length;
  const shocks = new Float64Array(m);
  for (let k = 0; k < count; k++) {
    for (let column = 0; column < width; column++) {
      correlated(random, lineFactor, m, shocks);
      drawn.forEach((one, r) => {
        if (column >= one.p) return;
        for (let i = column; i < one.p; i++) {
          one.lines[k * one.p + i] =
            (one.lines[k * one.p + i] as number) +
            (one.factor[i * one.p + column] as number) * (shocks[r] as number);
        }
      });
    }
    correlated(random, residualFactor, m, shocks);
    // One mixing variable for all registers: a wild visit is wild throughout.
    const scale = posterior.residual === 'student' ? 1 / Math.sqrt(meanSquare(random, degreesOfFreedom)) : 1;
    drawn.forEach((one, r) => {
      one.residual[k] = scale * (shocks[r] as number);
    });
  }
  return {
    count,
    registers: drawn.map((one) => columnsOf(one, instrument, count)),
    moistureErrorShare: posterior.moistureErrorShare,
    grows: posterior.residual === 'student',
  };
}

interface Open {
  readonly register: Register;
  readonly fitted: RegisterPosterior;
  readonly p: number;
  readonly factor: Float64Array;
  /** count × p. */
  readonly lines: Float64Array;
  readonly residual: Float64Array;
}

function open(posterior: DriftPosterior, register: Register, instrument: Instrument, count: number): Open {
  const fitted = posterior.registers[register];
  const line = ownLine(fitted, posterior.instruments[instrument.id]);
  const p = fitted.columns.length;
  const lines = new Float64Array(count * p);
  for (let k = 0; k < count; k++) lines.set(line.coefficients, k * p);
  return {
    register,
    fitted,
    p,
    factor: semiCholesky(line.covariance, p),
    lines,
    residual: new Float64Array(count),
  };
}

function columnsOf(one: Open, instrument: Instrument, count: number): RegisterDraws {
  const pick = (name: (typeof columns)[number]) => {
    const out = new Float64Array(count);
    const i = one.fitted.columns.indexOf(name);
    if (i >= 0) for (let k = 0; k < count; k++) out[k] = one.lines[k * one.p + i] as number;
    return out;
  };
  const moisture = pick('moisture');
  if (instrument.kind === 'upright') {
    const extra = pick('uprightMoisture');
    for (let k = 0; k < count; k++) moisture[k] = (moisture[k] as number) + (extra[k] as number);
  }
  return {
    register: one.register,
    moisture,
    years: pick('years'),
    temperature: pick('temperature'),
    settling: pick('settling'),
    freshStrings: pick('freshStrings'),
    residual: one.residual,
    residualSd: one.fitted.residualSd,
  };
}

function correlated(random: Random, factor: Float64Array, m: number, into: Float64Array): void {
  const raw = new Float64Array(m);
  for (let i = 0; i < m; i++) raw[i] = random.normal();
  for (let row = 0; row < m; row++) {
    let sum = 0;
    for (let k = 0; k <= row; k++) sum += (factor[row * m + k] as number) * (raw[k] as number);
    into[row] = sum;
  }
}

function factorOf(correlation: readonly number[], places: readonly number[]): Float64Array {
  const m = places.length;
  const part = new Float64Array(m * m);
  places.forEach((row, i) => {
    places.forEach((column, j) => {
      part[i * m + j] = correlation[row * n + column] as number;
    });
  });
  return semiCholesky(part, m);
}

/**
 * How the errors of an instrument's slopes go together: as the slopes of instruments do while it has no visits, as the residuals
 * do when it has many. Between, as the precision of one (Ω⁻¹ + s Σ⁻¹) says.
 */
function lineCorrelation(posterior: DriftPosterior, instrument: Instrument): number[] {
  const slope = new Float64Array(n * n);
  const residual = new Float64Array(n * n);
  const sd = registers.map((register) => posterior.registers[register]);
  let seen = 0;
  let measured = 0;
  for (const one of sd) {
    const zz = sumsOf(one, posterior.instruments[instrument.id])?.zx[0];
    if (zz !== undefined) {
      seen += zz;
      measured++;
    }
  }
  for (let r = 0; r < n; r++) {
    for (let s = 0; s < n; s++) {
      const [a, b] = [sd[r], sd[s]];
      slope[r * n + s] =
        (posterior.slopeCorrelation[r * n + s] as number) * (a?.slopeSd || 1e-3) * (b?.slopeSd || 1e-3);
      residual[r * n + s] =
        (posterior.residualCorrelation[r * n + s] as number) *
        (a?.residualSd || 1e-3) *
        (b?.residualSd || 1e-3);
    }
  }
  if (measured === 0) return [...posterior.slopeCorrelation];
  const precision = addScaled(invert(slope), invert(residual), seen / measured);
  const covariance = precision === null ? null : invert(precision);
  if (covariance === null) return [...posterior.slopeCorrelation];
  return Array.from(covariance, (value, i) => {
    const row = Math.floor(i / n);
    const column = i % n;
    return (
      value / Math.sqrt((covariance[row * n + row] as number) * (covariance[column * n + column] as number))
    );
  });
}

function invert(a: Float64Array): Float64Array | null {
  const lower = cholesky(a, n);
  return lower === null ? null : inverse(lower, n);
}

function addScaled(a: Float64Array | null, b: Float64Array | null, share: number): Float64Array | null {
  return a === null || b === null ? null : a.map((value, i) => value + share * (b[i] as number));
}

/** Offset change (cents) of one register in draw `k`. */
export function drawnChange(
  draws: DriftDraws,
  one: RegisterDraws,
  k: number,
  change: {
    readonly moistureChangePct: number;
    readonly years: number;
    readonly temperatureChangeC: number;
    readonly settlingCents?: number;
    readonly freshStrings?: number;
  },
): number {
  const moved = (one.moisture[k] as number) * change.moistureChangePct;
  const growth = draws.grows ? residualGrowth(change.years) : 1;
  const scale = Math.sqrt(one.residualSd ** 2 * growth + (draws.moistureErrorShare * moved) ** 2);
  return (
    moved +
    (one.years[k] as number) * change.years +
    (one.temperature[k] as number) * change.temperatureChangeC +
    (one.settling[k] as number) * (change.settlingCents ?? 0) +
    (one.freshStrings[k] as number) * (change.freshStrings ?? 0) +
    scale * (one.residual[k] as number)
  );
}
