/**
 * Does a tuning hold until the concert? Between the two a register may move, or unisons that were clean may spread past their
 * limit. Looked at along the paths of the forecast, for a tuning so and so many days before.
 */
import { drawDrift } from './draws.ts';
import type { ForecastInput, ForecastPaths } from './forecast.ts';
import { seededRandom } from './random.ts';
import { residualGrowth } from './residual.ts';
import { drawnSpread, drawSpread } from './spread-draws.ts';

const msPerDay = 86_400_000;
/** A concert's tuning holds when no note moves more than this. Common practice, no source. @source trade-observations */
export const concertCents = 2;

/**
 * @param eventMs when it is played
 * @param leadDays a tuning so many days before, each an answer; one that would lie in the past is made on the first day
 * @returns chances (0-1) that a register moves over 2 cents or unisons pass their limit meanwhile; null beyond the forecast
 */
export function eventUnsteadiness(
  input: Pick<ForecastInput, 'instrument' | 'drift' | 'spread' | 'tolerance' | 'seed'>,
  { climate }: Pick<ForecastPaths, 'climate'>,
  eventMs: number,
  leadDays: readonly number[],
): number[] | null {
  const { count, days, startMs, moisturePct, temperatureC } = climate;
  const played = Math.floor((eventMs - startMs) / msPerDay);
  if (played < 0 || played >= days) return null;
  const { seed = 1 } = input;
  const drift = drawDrift(input.drift, input.instrument, count, seededRandom(seed + 0.25e9));
  const spread = drawSpread(input.spread, input.instrument.id, count, seededRandom(seed + 0.5e9));
  const clean = { netPct: 0, rangePct: 0, years: 0 };
  return leadDays.map((lead) => {
    const tuned = Math.max(0, played - lead);
    const years = (played - tuned) / 365.25;
    // Tuned and played on one day nothing has moved yet.
    if (played === tuned) return 0;
    const growth = drift.grows ? residualGrowth(years) - residualGrowth(0) : 1;
    let unsteady = 0;
    for (let k = 0; k < count; k++) {
      const from = k * days;
      const path = moisturePct.subarray(from + tuned, from + played + 1);
      const netPct = (path.at(-1) as number) - (path[0] as number);
      const warmerC = (temperatureC[from + played] as number) - (temperatureC[from + tuned] as number);
      const moves = drift.registers.some((one) => {
        const wood = (one.moisture[k] as number) * netPct;
        const scale = Math.sqrt(one.residualSd ** 2 * growth + (drift.moistureErrorShare * wood) ** 2);
        const cents =
          wood +
          (one.years[k] as number) * years +
          (one.temperature[k] as number) * warmerC +
          scale * (one.residual[k] as number);
        return Math.abs(cents) > concertCents;
      });
      const limit = input.tolerance.unisonCents;
      const passes = () => {
        const rangePct = Math.max(...path) - Math.min(...path);
        return (
          drawnSpread(spread, k, clean) <= limit &&
          drawnSpread(spread, k, { netPct, rangePct, years }) > limit
        );
      };
      if (moves || passes()) unsteady++;
    }
    return unsteady / count;
  });
}
