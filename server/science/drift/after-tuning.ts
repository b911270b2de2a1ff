/**
 * How long would a tuning hold? For each day on which the instrument might be tuned, and each day after it, whether it would be
 * within tolerance then, path by path. Best dates and the advice to wait both rest on it.
 */
import { drawDrift } from './draws.ts';
import { type ForecastInput, type ForecastPaths, isOut } from './forecast.ts';
import { judgeOf, outBy } from './judge.ts';
import { seededRandom } from './random.ts';
import { drawSpread } from './spread-draws.ts';
import { usualBreaks } from './tolerance.ts';

export interface AfterTuning {
  /** Days (from the first of the paths) on which a tuning is tried, and on which it is looked at. */
  readonly tunedOn: readonly number[];
  readonly seenOn: readonly number[];
  /** within[tuning][seen × count + path]: 1 where within tolerance; days before the tuning are 0. */
  readonly within: readonly Uint8Array[];
  /** The same without any tuning. */
  readonly untouched: Uint8Array;
  readonly count: number;
}

/** @param input what the paths were drawn with: the same seed gives the same instrument */
export function afterTuning(
  input: Pick<ForecastInput, 'instrument' | 'drift' | 'spread' | 'tolerance' | 'breaks' | 'seed'>,
  paths: ForecastPaths,
  tunedOn: readonly number[],
  seenOn: readonly number[],
): AfterTuning {
  const { count, days, moisturePct, temperatureC } = paths.climate;
  const { seed = 1, breaks = usualBreaks, tolerance } = input;
  const out = judgeOf(
    drawDrift(input.drift, input.instrument, count, seededRandom(seed + 0.25e9)),
    drawSpread(input.spread, input.instrument.id, count, seededRandom(seed + 0.5e9)),
    tolerance,
    breaks,
  );
  const untouched = new Uint8Array(seenOn.length * count);
  seenOn.forEach((seen, s) => {
    for (let k = 0; k < count; k++) untouched[s * count + k] = isOut(paths.beyond, k * days + seen) ? 0 : 1;
  });
  const within = tunedOn.map((tuned) => {
    const held = new Uint8Array(seenOn.length * count);
    for (let k = 0; k < count; k++) {
      const from = k * days;
      const start = moisturePct[from + tuned] as number;
      let low = start;
      let high = start;
      let reached = tuned;
      for (let s = 0; s < seenOn.length; s++) {
        const seen = seenOn[s] as number;
        if (seen < tuned) continue;
        for (; reached <= seen; reached++) {
          const moisture = moisturePct[from + reached] as number;
          low = Math.min(low, moisture);
          high = Math.max(high, moisture);
        }
        const passed = {
          netPct: (moisturePct[from + seen] as number) - start,
          rangePct: high - low,
          years: (seen - tuned) / 365.25,
          temperatureChangeC: (temperatureC[from + seen] as number) - (temperatureC[from + tuned] as number),
        };
        if (out(k, passed) === outBy.nothing) held[s * count + k] = 1;
      }
    }
    return held;
  });
  return { tunedOn, seenOn, within, untouched, count };
}
