/** What the year strip shows, said in a sentence. */
import type { InstrumentSummary } from '../../server/contract/index.ts';
import { moistureWord } from '../words/moisture.ts';
import { count, percent } from '../words/numbers.ts';
import { dayMs, shortDay } from '../words/times.ts';

export function stripWords(strip: InstrumentSummary['strip'], timeZone: string): string {
  const { moisturePct, endMs, visitsMs } = strip;
  let lowest = -1;
  let highest = -1;
  let last = -1;
  moisturePct.forEach((value, day) => {
    if (value === null) return;
    if (lowest < 0 || value < (moisturePct[lowest] ?? Number.POSITIVE_INFINITY)) lowest = day;
    if (highest < 0 || value > (moisturePct[highest] ?? Number.NEGATIVE_INFINITY)) highest = day;
    last = day;
  });
  const at = (day: number) => moisturePct[day] ?? null;
  const low = at(lowest);
  const high = at(highest);
  const now = at(last);
  if (low === null || high === null || now === null)
    return 'Board moisture over the past year: nothing known yet.';
  const when = (day: number) => shortDay(endMs - (moisturePct.length - 1 - day) * dayMs, timeZone, endMs);
  return (
    `Board moisture over the past year: lowest ${percent(low, 1)} on ${when(lowest)}, highest ${percent(high, 1)} ` +
    `on ${when(highest)}, last ${percent(now, 1)}, ${moistureWord(now)}. ${count(visitsMs.length, 'visit')}.`
  );
}
