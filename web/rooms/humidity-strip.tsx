/** A year of a room's air, day by day, in the dry-to-damp colours; what it shows is said in a sentence too. */
import { useMemo } from 'preact/hooks';
import type { RoomToday } from '../../server/contract/index.ts';
import { stripShape } from '../marks/strip-shape.ts';
import { humidityClass } from '../words/humidity.ts';
import { yearWords } from './year-days.ts';

export function HumidityStrip({
  strip,
  timeZone,
}: {
  readonly strip: RoomToday['strip'];
  readonly timeZone: string;
}) {
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
