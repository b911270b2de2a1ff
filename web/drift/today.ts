/** The unisons as they are thought to stand today: the first coming day of the forecast. */
import type { Fan, Forecast } from '../../server/contract/index.ts';

export interface Spread {
  readonly low: number;
  readonly middle: number;
  readonly high: number;
}

function day(fan: Fan, i: number): Spread | null {
  const [low, middle, high] = [fan.low[i], fan.middle[i], fan.high[i]];
  return typeof low === 'number' && typeof middle === 'number' && typeof high === 'number'
    ? { low, middle, high }
    : null;
}

export function spreadToday(forecast: Forecast | null, nowMs: number): Spread | null {
  if (!forecast?.spreadCents) return null;
  // A forecast may have been made yesterday: its days before now are over.
  return day(
    forecast.spreadCents,
    forecast.timesMs.findIndex((timeMs) => timeMs > nowMs),
  );
}
