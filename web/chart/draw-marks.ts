/** What is drawn beside the lines of the plots: the days of visits, the board's moisture as colour, the tolerance. */
import uPlot from 'uplot';
import { moistureClass } from '../words/moisture.ts';
import type { Colours } from './colours.ts';
import type { Drawing } from './drawing.ts';

const rampPx = 9;

/** Visits as dotted uprights; `named` says what was done at the foot of each, where there is room. */
export function drawVisits(u: uPlot, now: Drawing, colours: Colours, named: boolean): void {
  const { ctx, bbox } = u;
  ctx.save();
  ctx.strokeStyle = colours.ink2;
  ctx.fillStyle = colours.ink2;
  ctx.lineWidth = uPlot.pxRatio;
  ctx.setLineDash([2 * uPlot.pxRatio, 3 * uPlot.pxRatio]);
  ctx.font = `${12 * uPlot.pxRatio}px "Source Sans 3", system-ui, sans-serif`;
  ctx.textAlign = 'left';
  ctx.textBaseline = 'bottom';
  let wordsEnd = Number.NEGATIVE_INFINITY;
  for (const { atMs, tuned } of now.visits.toSorted((a, b) => a.atMs - b.atMs)) {
    if (atMs < now.fromMs || atMs > now.toMs) continue;
    const x = Math.round(u.valToPos(atMs, 'x', true)) + 0.5;
    ctx.beginPath();
    ctx.moveTo(x, bbox.top);
    ctx.lineTo(x, bbox.top + bbox.height);
    ctx.stroke();
    if (!named) continue;
    const words = tuned ? 'tuned' : 'visit';
    const width = ctx.measureText(words).width;
    const fitsRight = x + width + 8 * uPlot.pxRatio < bbox.left + bbox.width;
    const at = fitsRight ? x + 4 * uPlot.pxRatio : x - width - 4 * uPlot.pxRatio;
    if (at < wordsEnd) continue;
    ctx.fillText(words, at, bbox.top + bbox.height - 3 * uPlot.pxRatio);
    wordsEnd = at + width + 6 * uPlot.pxRatio;
  }
  ctx.restore();
}

/** The board's moisture once more, as colour: the year strip of the stretch shown. */
export function drawRamp(u: uPlot, now: Drawing, colours: Colours): void {
  const { ctx, bbox } = u;
  const [times, known, held] = now.board;
  const height = rampPx * uPlot.pxRatio;
  const top = bbox.top + bbox.height - height;
  const xOf = (timeMs: number) => u.valToPos(timeMs, 'x', true);
  ctx.save();
  ctx.beginPath();
  ctx.rect(bbox.left, top, bbox.width, height);
  ctx.clip();
  // What is held or foretold is less than half as high: known colour, less sure.
  const days = (
    along: readonly number[],
    moistureAt: (i: number) => number | null,
    partOf: (i: number) => number,
  ) =>
    along.forEach((timeMs, i) => {
      const value = moistureAt(i);
      if (value === null) return;
      const before = along[i - 1] ?? timeMs - ((along[i + 1] ?? timeMs) - timeMs);
      const after = along[i + 1] ?? timeMs + (timeMs - before);
      const left = xOf((before + timeMs) / 2);
      ctx.fillStyle = colours.moisture[moistureClass(value)];
      const part = partOf(i);
      ctx.fillRect(left, top + height * (1 - part), xOf((timeMs + after) / 2) - left + 0.7, height * part);
    });
  const ahead = now.coming?.moisturePct;
  if (ahead)
    days(
      ahead.timesMs,
      (i) => ahead.middle[i] ?? null,
      () => 0.4,
    );
  days(
    times,
    (i) => known[i] ?? held[i] ?? null,
    (i) => (typeof known[i] === 'number' ? 1 : 0.4),
  );
  ctx.restore();
}

/** Runs on through the coming days. */
export function drawTolerance(u: uPlot, now: Drawing, colours: Colours): void {
  const { ctx, bbox } = u;
  const top = u.valToPos(now.toleranceCents, 'y', true);
  const bottom = u.valToPos(-now.toleranceCents, 'y', true);
  ctx.save();
  ctx.fillStyle = colours.tolerance;
  ctx.fillRect(bbox.left, top, bbox.width, bottom - top);
  ctx.restore();
}
