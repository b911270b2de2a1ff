/** 365 thin days of board moisture, today at the right edge, ticks for visits beneath. Stands for an instrument everywhere. */
import { useMemo } from 'preact/hooks';
import type { InstrumentSummary } from '../../server/contract/index.ts';
import { dayMs } from '../words/times.ts';
import { stripMark, stripShape } from './strip-shape.ts';
import { stripWords } from './strip-words.ts';

interface YearStripProps {
  readonly strip: InstrumentSummary['strip'];
  readonly timeZone: string;
}

export function YearStrip({ strip, timeZone }: YearStripProps) {
  return useMemo(() => {
    const days = strip.moisturePct.length;
    const firstMs = strip.endMs - (days - 1) * dayMs;
    const ticks = strip.visitsMs
      .map((visitMs) => Math.floor((visitMs - firstMs) / dayMs))
      .filter((day) => day >= 0 && day < days);
    return (
      <span class="year-strip" role="img" aria-label={stripWords(strip, timeZone)}>
        <svg viewBox={`0 0 ${days} 1`} preserveAspectRatio="none" aria-hidden="true">
          {stripShape(strip.moisturePct).paths.map(({ moisture, d }) => (
            <path key={moisture} class={`m${moisture}`} d={d} />
          ))}
        </svg>
        <svg class="ticks" viewBox={`0 0 ${days} 1`} preserveAspectRatio="none" aria-hidden="true">
          <path d={ticks.map((day) => `M${day + 0.5} 0V1`).join('')} />
        </svg>
      </span>
    );
  }, [stripMark(strip), timeZone]);
}
