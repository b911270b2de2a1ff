/** Rolling origin for unison spread: each measured spread foretold from what was read before it, and by the best constant. */
import {
  fitSpread,
  lagGridDays,
  predictSpread,
  type SpreadObservation,
  type SpreadPosterior,
  spreadChangeOf,
} from '../../../server/science/drift/index.ts';
import { usualWeights } from '../../../server/science/drift/lags.ts';
import { median } from '../../../server/science/drift/quantile.ts';
import type { Known } from './past.ts';

export interface ScoredSpread {
  readonly foundCents: number;
  readonly expectedCents: number;
  readonly constantCents: number;
  readonly isCovered: boolean;
}

interface Dated {
  readonly toMs: number;
  readonly observation: SpreadObservation;
}

function spreadsOf({ source, course }: Known): Dated[] {
  const weights = usualWeights(lagGridDays, source.instrument.finish);
  return source.visits.flatMap((visit, i) => {
    const before = source.visits[i - 1];
    if (before === undefined || visit.spread === null) return [];
    const change = spreadChangeOf(course, weights, before.atMs, visit.atMs);
    if (change === null) return [];
    const { spread } = visit;
    return [
      { toMs: visit.atMs, observation: { instrument: source.instrument.id, ...change, reading: spread } },
    ];
  });
}

/** Refitted every 30 days at the earliest; scoring begins once ten spreads were measured, for the constant's sake. */
export function spreadLookBack(fleet: readonly Known[]): ScoredSpread[] {
  const dated = fleet.flatMap(spreadsOf).sort((a, b) => a.toMs - b.toMs);
  const scored: ScoredSpread[] = [];
  let posterior: SpreadPosterior | null = null;
  let fittedMs = Number.NEGATIVE_INFINITY;
  for (const { toMs, observation } of dated) {
    if (!('cents' in observation.reading)) continue;
    const past = dated.filter((one) => one.toMs < toMs).map((one) => one.observation);
    const measured = past.flatMap(({ reading }) => ('cents' in reading ? [reading.cents] : []));
    if (measured.length < 10) continue;
    if (posterior === null || toMs - fittedMs > 30 * 86_400_000) {
      posterior = fitSpread(past);
      fittedMs = toMs;
    }
    const expected = predictSpread(
      posterior,
      observation.instrument,
      observation,
      observation.reading.sampled,
    );
    const found = observation.reading.cents;
    scored.push({
      foundCents: found,
      expectedCents: expected.medianCents,
      constantCents: median(measured),
      isCovered: found >= expected.low80Cents && found <= expected.high80Cents,
    });
  }
  return scored;
}
