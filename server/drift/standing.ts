/**
 * Where the pitch stands: per register an offset with its uncertainty, and the chance that the instrument as a whole
 * is out of tolerance. Two of the three parts of tolerance are judged here: level (the median of the registers) and
 * step (at the two breaks of the scale); unison spread comes with what is learned of it.
 */
import type { Register, RegisterPitch, Tolerance } from '../contract/index.ts';
import { registers } from '../contract/index.ts';
import { type DriftPosterior, predictOffset, probabilityBeyond } from '../science/index.ts';
import type { Anchor } from './anchors.ts';

/** What happened to the wood and the plate between an anchor and the time asked about. */
export interface Change {
  readonly moisturePct: number;
  readonly years: number;
  readonly temperatureC: number;
}

export interface PitchStanding {
  readonly registers: RegisterPitch[];
  /** Median of the registers, cents. */
  readonly levelCents: number | null;
  /** The register that is farthest off. */
  readonly worst: { readonly register: Register; readonly cents: number } | null;
  /** Chance that level or a step is beyond tolerance, 0-1. */
  readonly beyond: number | null;
}

export interface Offset {
  readonly meanCents: number;
  readonly sdCents: number;
}

export function offsetsAt(
  posterior: DriftPosterior,
  anchor: Anchor,
  change: Change,
): Record<Register, Offset | null> {
  const entries = registers.map((register) => {
    const left = anchor.registers[register];
    if (left === null) return [register, null];
    const offset = predictOffset(posterior, register, {
      leftCents: left.cents,
      leftSdCents: left.sdCents,
      moistureChangePct: change.moisturePct,
      years: change.years,
      temperatureChangeC: change.temperatureC,
    });
    return [register, offset];
  });
  return Object.fromEntries(entries);
}

/** A piano that moves much does so everywhere: errors of its registers are taken as half shared (proposal). */
const sharedVariance = 0.5;
const draws = 400;

export function standingOf(offsets: Record<Register, Offset | null>, tolerance: Tolerance): PitchStanding {
  const rows: RegisterPitch[] = registers.map((register) => {
    const offset = offsets[register];
    return {
      register,
      offsetCents: offset?.meanCents ?? null,
      sdCents: offset?.sdCents ?? null,
      beyondTolerance: offset
        ? probabilityBeyond(offset.meanCents, offset.sdCents, tolerance.levelCents)
        : null,
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
    beyond: chanceBeyond(offsets, tolerance),
  };
}

function chanceBeyond(offsets: Record<Register, Offset | null>, tolerance: Tolerance): number {
  const normal = seededNormal();
  let beyond = 0;
  for (let draw = 0; draw < draws; draw++) {
    const common = normal();
    const drawn: Partial<Record<Register, number>> = {};
    for (const register of registers) {
      const own = normal();
      const offset = offsets[register];
      if (!offset) continue;
      const error = Math.sqrt(sharedVariance) * common + Math.sqrt(1 - sharedVariance) * own;
      drawn[register] = offset.meanCents + offset.sdCents * error;
    }
    if (isBeyond(drawn, tolerance)) beyond += 1;
  }
  return beyond / draws;
}

function isBeyond(cents: Partial<Record<Register, number>>, tolerance: Tolerance): boolean {
  if (Math.abs(median(Object.values(cents))) > tolerance.levelCents) return true;
  const step = (low: Register, high: Register): boolean => {
    const [a, b] = [cents[low], cents[high]];
    return a !== undefined && b !== undefined && Math.abs(a - b) > tolerance.stepCents;
  };
  // The breaks of the scale: wound to plain strings, and the treble break.
  return step('bass', 'tenor') || step('middle', 'treble');
}

export function median(values: readonly number[]): number {
  const sorted = [...values].sort((a, b) => a - b);
  const half = sorted.length / 2;
  const upper = sorted[Math.floor(half)] ?? Number.NaN;
  return Number.isInteger(half) ? (upper + (sorted[half - 1] ?? Number.NaN)) / 2 : upper;
}

/** The same draws every time, so that equal facts give equal words (mulberry32 and Box-Muller). */
function seededNormal(): () => number {
  let state = 0x9e3779b9;
  const uniform = (): number => {
    state = (state + 0x6d2b79f5) | 0;
    let t = Math.imul(state ^ (state >>> 15), 1 | state);
    t = (t + Math.imul(t ^ (t >>> 7), 61 | t)) ^ t;
    return ((t ^ (t >>> 14)) >>> 0) / 4294967296;
  };
  return () => Math.sqrt(-2 * Math.log(1 - uniform())) * Math.cos(2 * Math.PI * uniform());
}
