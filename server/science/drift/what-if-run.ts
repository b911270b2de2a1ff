/** One run of an instrument through a year and some days of air: days beyond tolerance, tunings, and days of strain, path by path. */
import type { Tolerance } from '../pitch.ts';
import { advanceReference, type BoardFinding, boardStressClass, type Construction } from '../soundboard.ts';
import type { Spruce } from '../wood.ts';
import { moistureCourse } from './board-lag.ts';
import { type DriftDraws, drawDrift } from './draws.ts';
import { judgeOf, outBy } from './judge.ts';
import { boardAlong } from './paths.ts';
import type { DriftPosterior } from './posterior.ts';
import { type Random, seededRandom } from './random.ts';
import type { Instrument } from './registers.ts';
import type { SpreadPosterior } from './spread.ts';
import { drawSpread, type SpreadDraws } from './spread-draws.ts';
import { type Break, usualBreaks } from './tolerance.ts';

export interface RunInput {
  readonly instrument: Instrument;
  readonly drift: DriftPosterior;
  readonly spread: SpreadPosterior;
  readonly tolerance: Tolerance;
  readonly breaks?: readonly Break[];
  readonly board: {
    readonly species: Spruce;
    readonly construction: Construction;
    readonly findings: readonly BoardFinding[];
    /** Slow mean of the board's past a year ago (%MC); the first month's mean where it is not known. */
    readonly referencePct: number | null;
  };
}

/** Air day by day: the past year, the same for every path, then the coming days; path after path. */
export interface RunAir {
  readonly days: number;
  readonly humidityPct: Float64Array;
  readonly temperatureC: Float64Array;
}

/** Counts per path. */
export interface Counts {
  readonly daysBeyond: Float64Array;
  /** Of them those on which the pitch (level or step) is out, and those on which the unisons are; on some days both are. */
  readonly pitchDays: Float64Array;
  readonly unisonDays: Float64Array;
  readonly tunings: Float64Array;
  /** Days in class 1, 2, 3. */
  readonly boardDays: readonly [Float64Array, Float64Array, Float64Array];
}

export const pastDays = 365;
/** A tuning is called after this many days in a row out of tolerance; the same rule in every run (proposal). */
const patienceDays = 14;
/** Residuals are drawn for as many tunings; a run that asks for more meets the last again. */
const occasions = 40;

/** One instrument's draws, with residuals for each tuning that a run may ask for: the same in every run. */
export interface Occasions {
  readonly drift: DriftDraws;
  readonly spread: SpreadDraws;
  /** [register][occasion × count + path] */
  readonly residual: readonly Float64Array[];
}

export function drawOccasions(input: RunInput, count: number, seed: number): Occasions {
  const random: Random = seededRandom(seed + 0.25e9);
  const drift = drawDrift(input.drift, input.instrument, count, random);
  const residual = drift.registers.map(() => new Float64Array(occasions * count));
  for (let occasion = 0; occasion < occasions; occasion++) {
    const fresh = occasion === 0 ? drift : drawDrift(input.drift, input.instrument, count, random);
    fresh.registers.forEach((one, r) => {
      residual[r]?.set(one.residual, occasion * count);
    });
  }
  return {
    drift,
    residual,
    spread: drawSpread(input.spread, input.instrument.id, count, seededRandom(seed + 0.5e9)),
  };
}

export function run(
  input: RunInput,
  air: RunAir,
  lagOf: Int32Array,
  occasion: Occasions,
): { past: Counts; coming: Counts } {
  const moisture = moistureAlong(input.drift.lagDays, air, lagOf);
  const counts = { past: emptyCounts(lagOf.length), coming: emptyCounts(lagOf.length) };
  countPitch(input, air, moisture, occasion, counts);
  if (input.board.construction === 'solid') countBoard(input.board, air, moisture, counts);
  return counts;
}

type Both = { readonly past: Counts; readonly coming: Counts };

function emptyCounts(count: number): Counts {
  const empty = () => new Float64Array(count);
  return {
    daysBeyond: empty(),
    pitchDays: empty(),
    unisonDays: empty(),
    tunings: empty(),
    boardDays: [empty(), empty(), empty()],
  };
}

function add(counts: Float64Array, k: number): void {
  counts[k] = (counts[k] as number) + 1;
}

/** The board starts in balance with the first weeks of the past year, in each run with its own. */
function moistureAlong(lagDays: readonly number[], air: RunAir, lagOf: Int32Array): Float64Array {
  const { end } = moistureCourse(
    {
      startMs: 0,
      stepMs: 86_400_000,
      temperatureC: air.temperatureC.subarray(0, 14),
      humidityPct: air.humidityPct.subarray(0, 14),
    },
    lagDays,
  );
  return boardAlong(air.humidityPct, air.temperatureC, { lagDays, state: end }, lagOf, air.days);
}

function countPitch(
  input: RunInput,
  air: RunAir,
  moisture: Float64Array,
  { drift, spread, residual }: Occasions,
  counts: Both,
): void {
  const { count } = drift;
  const outOf = judgeOf(drift, spread, input.tolerance, input.breaks ?? usualBreaks);
  for (let k = 0; k < count; k++) {
    const from = k * air.days;
    let tuned = 0;
    let tunings = 0;
    let out = 0;
    let low = moisture[from] as number;
    let high = low;
    const residuals = (r: number) => residual[r]?.[Math.min(tunings, occasions - 1) * count + k] as number;
    for (let t = 0; t < air.days; t++) {
      const now = moisture[from + t] as number;
      low = Math.min(low, now);
      high = Math.max(high, now);
      const passed = {
        netPct: now - (moisture[from + tuned] as number),
        rangePct: high - low,
        years: (t - tuned) / 365.25,
        temperatureChangeC:
          (air.temperatureC[from + t] as number) - (air.temperatureC[from + tuned] as number),
      };
      const parts = outOf(k, passed, residuals);
      if (parts === outBy.nothing) {
        out = 0;
        continue;
      }
      const counted = t < pastDays ? counts.past : counts.coming;
      add(counted.daysBeyond, k);
      if ((parts & outBy.pitch) !== 0) add(counted.pitchDays, k);
      if ((parts & outBy.unisons) !== 0) add(counted.unisonDays, k);
      out++;
      if (out < patienceDays) continue;
      add(counted.tunings, k);
      tunings++;
      tuned = t;
      out = 0;
      low = now;
      high = now;
    }
  }
}

function countBoard(board: RunInput['board'], air: RunAir, moisture: Float64Array, counts: Both): void {
  for (let from = 0, k = 0; from < moisture.length; from += air.days, k++) {
    const start = moisture.subarray(from, from + 30);
    let referencePct = board.referencePct ?? start.reduce((sum, value) => sum + value, 0) / start.length;
    for (let t = 0; t < air.days; t++) {
      const moisturePct = moisture[from + t] as number;
      referencePct = advanceReference(referencePct, moisturePct, 24);
      const stress = boardStressClass({ ...board, moisturePct, referencePct }).class;
      if (stress === null || stress === 0) continue;
      add((t < pastDays ? counts.past : counts.coming).boardDays[stress - 1] as Float64Array, k);
    }
  }
}
