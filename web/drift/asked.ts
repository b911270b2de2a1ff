/** What an instrument's page asks of drift. Long sums: asked for seldom, and again at once after a visit is recorded. */
import type { BestDates, Forecast, Learned, LookBackPage } from '../../server/contract/index.ts';
import { useLive } from '../service/live.ts';

export interface Asked {
  /** null until answered. */
  readonly forecast: Forecast | null;
  readonly learned: Learned | null;
  readonly lookBack: LookBackPage | null;
  /** null until answered, and where nothing can be foretold. */
  readonly best: BestDates | null;
  /** What the first question that failed met. */
  readonly error: Error | null;
}

const minuteMs = 60_000;

export function useDrift(id: string, tunings: number): Asked {
  const params = { id };
  const forecast = useLive('forecast', { params }, minuteMs);
  const learned = useLive('learned', { params }, minuteMs);
  const lookBack = useLive('lookBack', { params }, 5 * minuteMs);
  const foretold = (forecast.answer.value?.timesMs.length ?? 0) > 0;
  const best = useLive(
    'bestDates',
    foretold ? { params, query: { tunings } } : null,
    foretold ? 5 * minuteMs : 24 * 60 * minuteMs,
  );
  return {
    forecast: forecast.answer.value,
    learned: learned.answer.value,
    lookBack: lookBack.answer.value,
    best: foretold ? best.answer.value : null,
    error: forecast.error.value ?? learned.error.value ?? lookBack.error.value,
  };
}
