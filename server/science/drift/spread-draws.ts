import type { Random } from './random.ts';
import { ownSteps, type SpreadChange, type SpreadPosterior, steps } from './spread.ts';

/** Draws of an instrument's u and of how its reading errs: the same for every day of a path. */
export interface SpreadDraws {
  /** u² per draw, and the factor by which the spread errs. */
  readonly squaredUnison: Float64Array;
  readonly factor: Float64Array;
  readonly range: number;
  readonly left: number;
  readonly use: number;
}

export function drawSpread(
  posterior: SpreadPosterior,
  instrument: string,
  count: number,
  random: Random,
): SpreadDraws {
  const weights = ownSteps(posterior, instrument);
  const squaredUnison = new Float64Array(count);
  const factor = new Float64Array(count);
  for (let k = 0; k < count; k++) {
    let rest = random.uniform();
    let i = 0;
    while (i < weights.length - 1 && rest > (weights[i] as number)) {
      rest -= weights[i] as number;
      i++;
    }
    squaredUnison[k] = (posterior.unison * Math.exp((steps[i] as number) * posterior.unisonLogSd)) ** 2;
    factor[k] = Math.exp(posterior.error * random.normal());
  }
  return { squaredUnison, factor, range: posterior.range, left: posterior.left, use: posterior.use };
}

export function drawnSpread(draws: SpreadDraws, k: number, change: SpreadChange): number {
  const moved = change.netPct ** 2 + draws.range ** 2 * change.rangePct ** 2;
  return (
    (draws.factor[k] as number) *
    Math.sqrt(draws.left ** 2 + (draws.squaredUnison[k] as number) * moved + draws.use ** 2 * change.years)
  );
}
