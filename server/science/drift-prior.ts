/**
 * How a piano moves before anything is known of it: cents per % moisture by register, with wide bounds.
 *
 * Dated readings of working technicians: common practice, no source, and no controlled study was found. Given there
 * per %RH in the piano as a median and a 90 % range; here per % moisture, at 0.16 % moisture to 1 %RH (25 to 55 %RH,
 * 20 °C), with sd = range / 3.29.
 */
import { normalCdf } from './normal.ts';
import type { Register } from './pitch.ts';
import { within } from './range.ts';

export interface Estimate {
  readonly mean: number;
  readonly sd: number;
}

export interface RegisterDrift {
  /** Cents per % of mean board moisture. */
  readonly slope: Estimate;
  /** Cents per year, falling. */
  readonly ageing: Estimate;
  /** Cents per kelvin once the whole piano has come to the temperature. */
  readonly temperature: Estimate;
  /** What remains of one interval, cents. */
  readonly residualSd: number;
}

export type DriftPosterior = Readonly<Record<Register, RegisterDrift>>;

export type Kind = 'grand' | 'upright';

const MOISTURE_PER_HUMIDITY = 0.16;
const NINETY_PCT_WIDTH = 3.29;

/** Median and 90 % range in cents per %RH, residual sd in cents (a proposal, wide on purpose). */
const PRACTICE: Readonly<
  Record<Register, readonly [median: number, low: number, high: number, residualSd: number]>
> = {
  bass: [0.3, 0.1, 0.5, 1.5],
  tenor: [1.0, 0.4, 1.8, 3],
  middle: [0.5, 0.25, 0.9, 1.5],
  // Between "just above the treble break" (0.5) and C6 (0.3).
  treble: [0.4, 0.15, 0.75, 1.5],
  top: [0.1, 0, 0.3, 1.5],
};

/** Uprights' short low tenor strings bear less stress and move 1.2 to 1.5 times as far; low confidence. */
const UPRIGHT_TENOR = 1.35;

/** What is believed of any piano of the kind before its first visit. */
export function tradePrior(kind: Kind): DriftPosterior {
  const of = (register: Register): RegisterDrift => {
    const [median, low, high, residualSd] = PRACTICE[register];
    const factor = kind === 'upright' && register === 'tenor' ? UPRIGHT_TENOR : 1;
    return {
      slope: {
        mean: (factor * median) / MOISTURE_PER_HUMIDITY,
        sd: (factor * (high - low)) / NINETY_PCT_WIDTH / MOISTURE_PER_HUMIDITY,
      },
      // 0.15 cents a month on settled pianos.
      ageing: { mean: -1.8, sd: 1 },
      // A whole piano warmed: -0.36 cents/K, its tenor -0.2 to -0.3.
      temperature: { mean: register === 'tenor' ? -0.25 : -0.35, sd: 0.15 },
      residualSd,
    };
  };
  return { bass: of('bass'), tenor: of('tenor'), middle: of('middle'), treble: of('treble'), top: of('top') };
}

export interface DriftChange {
  /** Offset as left at the last tuning, cents. */
  readonly leftCents: number | null;
  readonly leftSdCents: number;
  readonly moistureChangePct: number | null;
  readonly years: number;
  readonly temperatureChangeC: number | null;
}

/** The offset to expect after a change; null where the change or the start is not known. */
export function predictOffset(
  posterior: DriftPosterior,
  register: Register,
  change: DriftChange,
): { meanCents: number; sdCents: number } | null {
  const { leftCents, leftSdCents, moistureChangePct, years, temperatureChangeC } = change;
  if (leftCents === null || moistureChangePct === null || temperatureChangeC === null) return null;
  within('leftSdCents', leftSdCents, 0, 1000);
  within('years', years, 0, 200);
  const { slope, ageing, temperature, residualSd } = posterior[register];
  return {
    meanCents:
      leftCents +
      slope.mean * moistureChangePct +
      ageing.mean * years +
      temperature.mean * temperatureChangeC,
    sdCents: Math.hypot(
      leftSdCents,
      slope.sd * moistureChangePct,
      ageing.sd * years,
      temperature.sd * temperatureChangeC,
      residualSd,
    ),
  };
}

/**
 * Chance that a normally distributed offset lies beyond a limit on either side.
 * @param sdCents at least 0; at 0 the answer is 0 or 1
 */
export function probabilityBeyond(meanCents: number, sdCents: number, limitCents: number): number;
export function probabilityBeyond(
  meanCents: number | null,
  sdCents: number | null,
  limitCents: number,
): number | null;
export function probabilityBeyond(
  meanCents: number | null,
  sdCents: number | null,
  limitCents: number,
): number | null {
  if (meanCents === null || sdCents === null) return null;
  within('sdCents', sdCents, 0, Number.MAX_VALUE);
  within('limitCents', limitCents, 0, Number.MAX_VALUE);
  if (sdCents === 0) return Math.abs(meanCents) > limitCents ? 1 : 0;
  return normalCdf((-limitCents - meanCents) / sdCents) + normalCdf((meanCents - limitCents) / sdCents);
}
