/** Is it wiser to wait? A tuning in the midst of a change of season is undone by the rest of the change. */
import { afterTuning } from './after-tuning.ts';
import { asksFrom } from './decision.ts';
import { type ForecastInput, type ForecastPaths, forecastPaths } from './forecast.ts';

export interface WaitAdvice {
  readonly wait: boolean;
  /** When to tune instead; null where there is nothing to wait for. */
  readonly untilMs: number | null;
  /** Days within tolerance, of the coming ninety, that waiting gains over tuning now. */
  readonly gainDays: number;
  /** How fast the board moves now (%MC a day, over the coming week). */
  readonly movingPctPerDay: number;
  readonly because: string;
}

const msPerDay = 86_400_000;
/** The longest wait, and what it must gain to be worth a word (proposals). */
export const longestWaitDays = 21;
const worthDays = 5;
const movingFast = 0.15;
const seenEvery = 3;
const seenDays = 90;

/**
 * @param eventMs a concert: never waited past it
 * @param paths those of the forecast, where they are at hand: drawn with the same input and seed
 */
export function waitAdvice(
  input: ForecastInput,
  eventMs: number | null = null,
  paths: ForecastPaths = forecastPaths(input),
): WaitAdvice {
  const { climate, beyond } = paths;
  const { count, days, startMs } = climate;
  const movingPctPerDay = movement(paths);
  const none = (because: string): WaitAdvice => ({
    wait: false,
    untilMs: null,
    gainDays: 0,
    movingPctPerDay,
    because,
  });
  let unisons = 0;
  for (let k = 0; k < count; k++) unisons += beyond.spread[k * days] as number;
  if (unisons / count >= asksFrom) return none('The unisons ask now, and will not come back by themselves.');
  const untilEvent = eventMs === null ? longestWaitDays : Math.floor((eventMs - startMs) / msPerDay) - 1;
  const last = Math.min(longestWaitDays, untilEvent, days - 1);
  if (last < 1) return none('The concert leaves no time to wait.');

  const tunedOn = Array.from({ length: last + 1 }, (_, day) => day);
  const seenOn = Array.from(
    { length: Math.floor(Math.min(seenDays, days) / seenEvery) },
    (_, i) => i * seenEvery,
  );
  const after = afterTuning(input, paths, tunedOn, seenOn);
  // Chosen on one half of the paths, judged on the other.
  const value = (tuned: number, half: 0 | 1) => {
    let sum = 0;
    seenOn.forEach((seen, s) => {
      const held = seen < tuned ? after.untouched : (after.within[tuned] as Uint8Array);
      for (let k = half; k < count; k += 2) sum += held[s * count + k] as number;
    });
    return (seenEvery * sum) / Math.ceil((count - half) / 2);
  };
  let best = 0;
  let most = value(0, 0);
  for (const tuned of tunedOn) {
    const reached = value(tuned, 0);
    if (reached > most) {
      most = reached;
      best = tuned;
    }
  }
  const gainDays = value(best, 1) - value(0, 1);
  const moving =
    Math.abs(movingPctPerDay) > movingFast
      ? ` The board moves ${Math.abs(movingPctPerDay).toFixed(2)} %MC a day now.`
      : '';
  if (gainDays < worthDays) return none(`Waiting would gain nothing worth it.${moving}`);
  return {
    wait: true,
    untilMs: startMs + best * msPerDay,
    gainDays,
    movingPctPerDay,
    because:
      `Tuned now, much of it would be undone: waiting ${best} days gives about ${Math.round(gainDays)} more days ` +
      `within tolerance of the coming ${Math.min(seenDays, days)}.${moving}`,
  };
}

function movement({ climate }: ForecastPaths): number {
  const { count, days, moisturePct } = climate;
  const last = Math.min(7, days) - 1;
  if (last < 1) return 0;
  let sum = 0;
  for (let k = 0; k < count; k++)
    sum += (moisturePct[k * days + last] as number) - (moisturePct[k * days] as number);
  return sum / count / last;
}
