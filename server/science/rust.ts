/**
 * Hours in which strings and pins rust: steel is attacked faster from about 65 %RH, fast above 70 with dust or salts.
 * Common practice, no source. Dew on the metal is another matter, see `sweat.ts`.
 */
import { within } from './range.ts';
import type { Hourly } from './running.ts';

export const RUST_PCT = 65;

/**
 * Hours above the threshold within the window up to each hour; missing hours count as none.
 * @param windowHours 168: a week
 */
export function rustHours(humidityPct: Hourly, windowHours = 168, abovePct = RUST_PCT): number[] {
  within('windowHours', windowHours, 1, 1e5);
  within('abovePct', abovePct, 0, 100);
  const rusts = (i: number): number => ((humidityPct[i] ?? 0) > abovePct ? 1 : 0);
  let count = 0;
  return humidityPct.map((_, i) => {
    count += rusts(i) - rusts(i - windowHours);
    return count;
  });
}
