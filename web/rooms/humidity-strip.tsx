/** A year of a room's air, day by day, in the dry-to-damp colours; what it shows is said in a sentence too. */
import { useMemo } from 'preact/hooks';
import type { RoomToday } from '../../server/contract/index.ts';
import { stripShape } from '../marks/strip-shape.ts';
import { humidityClass } from '../words/humidity.ts';
import { percent } from '../words/numbers.ts';
import { dayMs, shortDay } from '../words/times.ts';

type Strip = RoomToday['strip'];

export function yearWords({ humidityPct, endMs }: Strip, timeZone: string): string {
  let lowest = -1;
  let highest = -1;
  humidityPct.forEach((value, day) => {
    if (value === null) return;
    if (lowest < 0 || value < (humidityPct[lowest] ?? 0)) lowest = day;
    if (highest < 0 || value > (humidityPct[highest] ?? 0)) highest = day;
  });
  const [low, high] = [humidityPct[lowest] ?? null, humidityPct[highest] ?? null];
  if (low === null || high === null) return 'Humidity over the past year: nothing known yet.';
  const when = (day: number) => shortDay(endMs - (humidityPct.length - 1 - day) * dayMs, timeZone, endMs);
  return `Humidity over the past year: driest day ${when(lowest)} at ${percent(low)}, dampest ${when(highest)} at ${percent(high)}.`;
}

export function HumidityStrip({ strip, timeZone }: { readonly strip: Strip; readonly timeZone: string }) {
  const key = `${strip.endMs} ${strip.humidityPct.join()}`;
  return useMemo(
    () => (
      <span class="year-strip" role="img" aria-label={yearWords(strip, timeZone)}>
        <svg viewBox={`0 0 ${strip.humidityPct.length} 1`} preserveAspectRatio="none" aria-hidden="true">
          {stripShape(strip.humidityPct, humidityClass).paths.map(({ moisture, d }) => (
            <path key={moisture} class={`m${moisture}`} d={d} />
          ))}
        </svg>
      </span>
    ),
    [key, timeZone],
  );
}
