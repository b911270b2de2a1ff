/**
 * A band of humidity between two handles: dragged by mouse or finger, moved by keyboard. The fields beside it say the
 * same in figures; whoever cannot drag misses nothing.
 */
import { useRef } from 'preact/hooks';
import { percent } from '../words/numbers.ts';
import { type Band, clamp, type End, keyed, leastApartPct, moved, scale } from './band-ends.ts';

const part = (pct: number): number => ((pct - scale.lowPct) / (scale.highPct - scale.lowPct)) * 100;

interface BandProps {
  readonly band: Band;
  readonly onBand: (band: Band) => void;
  /** What is measured there now, for orientation. */
  readonly nowPct: number | null;
}

export function BandScale({ band, onBand, nowPct }: BandProps) {
  const track = useRef<HTMLDivElement>(null);
  const dragged = useRef<End | null>(null);

  const pctAt = (event: PointerEvent): number => {
    const box = track.current?.getBoundingClientRect();
    if (!box || box.width === 0) return band.lowPct;
    return scale.lowPct + ((event.clientX - box.left) / box.width) * (scale.highPct - scale.lowPct);
  };
  const begin = (event: PointerEvent) => {
    if (event.button !== 0 || !event.isPrimary) return;
    const at = pctAt(event);
    const end = Math.abs(at - band.lowPct) <= Math.abs(at - band.highPct) ? 'lowPct' : 'highPct';
    dragged.current = end;
    track.current?.setPointerCapture(event.pointerId);
    track.current?.querySelector<HTMLElement>(`[data-end="${end}"]`)?.focus();
    onBand(moved(band, end, at));
    event.preventDefault();
  };
  const drag = (event: PointerEvent) => {
    if (dragged.current) onBand(moved(band, dragged.current, pctAt(event)));
  };
  const stop = () => {
    dragged.current = null;
  };
  const handle = (end: End, words: string, least: number, most: number) => (
    <div
      class="handle"
      role="slider"
      tabIndex={0}
      data-end={end}
      aria-label={words}
      aria-valuemin={least}
      aria-valuemax={most}
      aria-valuenow={band[end]}
      aria-valuetext={percent(band[end])}
      style={{ left: `${clamp(part(band[end]), 0, 100)}%` }}
      onKeyDown={(event) => {
        const next = keyed(event.key, band, end);
        if (!next || event.ctrlKey || event.metaKey || event.altKey) return;
        event.preventDefault();
        onBand(next);
      }}
    />
  );
  const marks = [20, 30, 40, 50, 60, 70, 80];
  return (
    <div class="band-scale">
      <div
        class="band-track"
        ref={track}
        onPointerDown={begin}
        onPointerMove={drag}
        onPointerUp={stop}
        onPointerCancel={stop}
      >
        <div
          class="band-held"
          style={{ left: `${part(band.lowPct)}%`, width: `${part(band.highPct) - part(band.lowPct)}%` }}
        />
        {nowPct !== null && nowPct >= scale.lowPct && nowPct <= scale.highPct && (
          <div class="band-now" style={{ left: `${part(nowPct)}%` }}>
            <span>now {percent(nowPct)}</span>
          </div>
        )}
        {handle('lowPct', 'Not drier than', scale.lowPct, band.highPct - leastApartPct)}
        {handle('highPct', 'Not damper than', band.lowPct + leastApartPct, scale.highPct)}
      </div>
      <div class="band-marks" aria-hidden="true">
        {marks.map((mark) => (
          <span key={mark} style={{ left: `${part(mark)}%` }}>
            {mark}
          </span>
        ))}
      </div>
    </div>
  );
}
