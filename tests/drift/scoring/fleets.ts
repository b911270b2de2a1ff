/** Look-backs over several simulated fleets, each counting as one. */
import {
  lagGridDays,
  lookBack,
  outlookAt,
  type Score,
  type ScoredInterval,
  scoreOf,
} from '../../../server/science/drift/index.ts';
import { simulatedFleet } from '../simulated/fleet.ts';
import { type Known, knownOf } from '../simulated/past.ts';
import { type ScoredSpread, spreadLookBack } from '../simulated/spreads.ts';

export function fleetOf(seed: number, size: number): Known[] {
  return simulatedFleet(seed, size).map(knownOf);
}

export function look(fleet: readonly Known[], horizonDays: number): ScoredInterval[] {
  const air = new Map(fleet.map(({ source }) => [source.instrument.id, source.air]));
  return lookBack(
    fleet.flatMap(({ intervals }) => intervals),
    {
      horizonDays,
      outlook: (interval, originMs, weights) => {
        const own = air.get(interval.observation.instrument);
        return own === undefined ? null : outlookAt(own, interval, originMs, lagGridDays, weights);
      },
    },
  );
}

/** Mean over the fleets, and the interval that would hold it in nine of ten such sets of fleets (t law, a fleet counting as one). */
export interface OverFleets {
  readonly mean: number;
  readonly low: number;
  readonly high: number;
}

/** 95 % points of the t law by degrees of freedom. Handbook table. */
const t95: Readonly<Record<number, number>> = {
  1: 6.314,
  2: 2.92,
  3: 2.353,
  4: 2.132,
  5: 2.015,
  6: 1.943,
  7: 1.895,
  8: 1.86,
  9: 1.833,
  10: 1.812,
  11: 1.796,
  19: 1.729,
  23: 1.714,
  29: 1.699,
};

export function overFleets(values: readonly number[]): OverFleets {
  const n = values.length;
  const mean = values.reduce((sum, value) => sum + value, 0) / n;
  const sd = Math.sqrt(values.reduce((sum, value) => sum + (value - mean) ** 2, 0) / (n - 1));
  const t = t95[n - 1];
  if (t === undefined) throw new Error(`no t value for ${n} fleets`);
  const half = (t * sd) / Math.sqrt(n);
  return { mean, low: mean - half, high: mean + half };
}

export function said({ mean, low, high }: OverFleets): string {
  return `${mean.toFixed(3)} (${low.toFixed(3)} to ${high.toFixed(3)})`;
}

export interface FleetsScore {
  readonly intervals: number;
  readonly coverage: OverFleets;
  readonly ratio: OverFleets;
  readonly pooled: Score;
}

export function scoreFleets(fleets: readonly (readonly ScoredInterval[])[]): FleetsScore {
  // A fleet that could not be scored is a fault of the scoring, and must not leave the mean to the others.
  const scores = fleets.map((fleet, i) => {
    const score = scoreOf(fleet);
    if (score === null) throw new Error(`fleet ${i} of ${fleets.length} was not scored`);
    return score;
  });
  const pooled = scoreOf(fleets.flat());
  if (pooled === null) throw new Error('nothing was scored');
  return {
    intervals: pooled.intervals,
    coverage: overFleets(scores.map(({ coverage }) => coverage)),
    ratio: overFleets(scores.map(({ ratio }) => ratio)),
    pooled,
  };
}

/** One line for the report, and what bands from 10 to 90 % held. */
export function report(what: string, { intervals, coverage, ratio, pooled }: FleetsScore): string {
  const rivals = Object.entries(pooled.rivalCents).map(([name, cents]) => `${name} ${cents.toFixed(2)}`);
  const drawn = pooled.calibration.map(({ promised, found }) => {
    const bar = '·'.repeat(50).split('');
    bar[Math.round(promised * 49)] = '|';
    bar[Math.round(found * 49)] = '#';
    return `    ${String(promised * 100).padStart(3)} % ${bar.join('')} ${(found * 100).toFixed(1)} %`;
  });
  return [
    `${what}: ${intervals} intervals, coverage of the 80 % band ${said(coverage)}, error over the best rival's ${said(ratio)}`,
    `    error ${pooled.errorCents.toFixed(2)} c; ${rivals.join(', ')}`,
    ...drawn,
  ].join('\n');
}

export interface SpreadScore {
  readonly readings: number;
  readonly ratio: OverFleets;
  readonly coverage: OverFleets;
}

export function scoreSpreads(fleets: readonly (readonly Known[])[]): SpreadScore {
  const scored = fleets.map(spreadLookBack);
  const mean = (list: readonly ScoredSpread[], of: (one: ScoredSpread) => number) =>
    list.reduce((sum, one) => sum + of(one), 0) / list.length;
  return {
    readings: scored.flat().length,
    ratio: overFleets(
      scored.map(
        (list) =>
          mean(list, (one) => Math.abs(one.foundCents - one.expectedCents)) /
          mean(list, (one) => Math.abs(one.foundCents - one.constantCents)),
      ),
    ),
    coverage: overFleets(scored.map((list) => mean(list, ({ isCovered }) => (isCovered ? 1 : 0)))),
  };
}
