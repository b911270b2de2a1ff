/**
 * Where the pitch stands: per register an offset with its uncertainty, and the chance that the instrument as a whole
 * is out of tolerance. Two of the three parts of tolerance are judged here, as the forecast judges them: level (the
 * median of what the registers are off) and step (at the two breaks of the scale); unison spread comes with what is
 * learned of it.
 */
import type { Register, RegisterPitch, Tolerance } from '../contract/index.ts';
import { registers } from '../contract/index.ts';
import {
  beyondTolerance,
  beyondTolerancePaths,
  type OffsetPrediction,
  ownSlope,
  predictOffset,
  seededRandom,
  usualBreaks,
} from '../science/drift/index.ts';
import { creepShare, settledShare } from '../science/drift/observations-of.ts';
import type { Anchor, KnownPitch } from './anchors.ts';
import type { Drift } from './learned.ts';

/** What happened to the wood and the plate between an anchor and the time asked about. */
export interface Change {
  /** Of the mean moisture of the board as its slab has it, for words. */
  readonly moisturePct: number;
  /** The same at each lag of the grid from which drift is learned. */
  readonly lagPct: readonly number[];
  readonly years: number;
  readonly temperatureC: number;
}

/** The change some days later, if the board moves by so much more. */
export const onwards = (change: Change, morePct: number, days: number): Change => ({
  ...change,
  moisturePct: change.moisturePct + morePct,
  lagPct: change.lagPct.map((pct) => pct + morePct),
  years: change.years + days / 365.25,
});

export interface PitchStanding {
  readonly registers: RegisterPitch[];
  /** Median of the registers, cents. */
  readonly levelCents: number | null;
  /** The register that is farthest off. */
  readonly worst: { readonly register: Register; readonly cents: number } | null;
  /** Chance that level or a step is beyond tolerance, 0-1. */
  readonly beyond: number | null;
}

export type Offsets = Readonly<Record<Register, OffsetPrediction | null>>;

const yearMs = 365.25 * 24 * 3_600_000;

/** What a correction and new strings go on doing after a register was heard, as the model takes it. */
export const afterwards = ({ atMs, raiseCents, strungMs }: KnownPitch, years: number) => ({
  settlingCents: raiseCents * settledShare(years),
  freshStrings: strungMs === null ? 0 : creepShare((atMs - strungMs) / yearMs, years),
});

/** @param changeSince what happened since a register was heard; null where that is not known */
export function offsetsAt(
  drift: Drift,
  anchor: Anchor,
  changeSince: (heardMs: number) => Change | null,
): Offsets {
  const entries = registers.map((register) => {
    const left = anchor.registers[register];
    const change = left && changeSince(left.atMs);
    if (left === null || change === null) return [register, null];
    const offset = predictOffset(drift.posterior, drift.instrument, register, {
      leftCents: left.cents,
      leftSdCents: left.sdCents,
      moistureChangePct: change.lagPct,
      years: change.years,
      temperatureChangeC: change.temperatureC,
      ...afterwards(left, change.years),
    });
    return [register, offset];
  });
  return Object.fromEntries(entries);
}

/** Cents per %MC of each register, and how sure. */
export function slopesOf({ posterior, instrument }: Drift): Record<Register, { mean: number; sd: number }> {
  const entries = registers.map((register) => {
    const { slopeCentsPerPct, slopeSd } = ownSlope(posterior, instrument, register);
    return [register, { mean: slopeCentsPerPct, sd: slopeSd }];
  });
  return Object.fromEntries(entries);
}

const draws = 400;

export function standingOf({ posterior }: Drift, offsets: Offsets, tolerance: Tolerance): PitchStanding {
  const rows: RegisterPitch[] = registers.map((register) => {
    const offset = offsets[register];
    return {
      register,
      offsetCents: offset?.meanCents ?? null,
      sdCents: offset?.sdCents ?? null,
      beyondTolerance: offset && beyondTolerance(offset, tolerance.levelCents),
    };
  });
  const known = registers.flatMap((register) => {
    const offset = offsets[register];
    return offset ? [{ register, cents: offset.meanCents }] : [];
  });
  if (known.length === 0) return { registers: rows, levelCents: null, worst: null, beyond: null };
  const worst = known.reduce((far, one) => (Math.abs(one.cents) > Math.abs(far.cents) ? one : far));
  return {
    registers: rows,
    levelCents: median(known.map((one) => one.cents)),
    worst,
    beyond: chanceBeyond(offsets, sharedVariance(posterior.residualCorrelation), tolerance),
  };
}

/** How much of their errors the registers share: the mean of what was learned of their correlations. */
function sharedVariance(correlation: readonly number[]): number {
  const n = registers.length;
  const apart = correlation.filter((_, i) => Math.floor(i / n) !== i % n);
  const mean = apart.reduce((sum, one) => sum + one, 0) / apart.length;
  return Math.min(0.95, Math.max(0, mean));
}

/** Joint draws of all registers: a chance of the whole is no product of chances of its parts. */
function chanceBeyond(offsets: Offsets, shared: number, tolerance: Tolerance): number {
  // The same draws every time, so that equal facts give equal words.
  const { normal } = seededRandom(1);
  const drawn = registers.map((register) => ({ register, cents: new Float64Array(draws) }));
  for (let draw = 0; draw < draws; draw++) {
    const common = normal();
    for (const { register, cents } of drawn) {
      const own = normal();
      const offset = offsets[register];
      if (!offset) continue;
      cents[draw] =
        offset.meanCents + offset.sdCents * (Math.sqrt(shared) * common + Math.sqrt(1 - shared) * own);
    }
  }
  const known = drawn.filter(({ register }) => offsets[register] !== null);
  const { level, step } = beyondTolerancePaths(known, null, tolerance, usualBreaks);
  return level.reduce((sum, out, i) => sum + (out || step[i] ? 1 : 0), 0) / draws;
}

export function median(values: readonly number[]): number {
  const sorted = [...values].sort((a, b) => a - b);
  const half = sorted.length / 2;
  const upper = sorted[Math.floor(half)] ?? Number.NaN;
  return Number.isInteger(half) ? (upper + (sorted[half - 1] ?? Number.NaN)) / 2 : upper;
}
