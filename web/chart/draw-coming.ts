/** Draws what is to come: a lighter sheet that begins today, fans instead of lines, the best weeks for a tuning. */
import uPlot from 'uplot';
import { dayMs } from '../words/times.ts';
import type { Colours } from './colours.ts';
import type { FanColumns } from './coming.ts';
import type { Drawing } from './drawing.ts';

const weekMs = 7 * dayMs;

function clipped(u: uPlot, draw: (ctx: CanvasRenderingContext2D) => void): void {
  const { ctx, bbox } = u;
  ctx.save();
  ctx.beginPath();
  ctx.rect(bbox.left, bbox.top, bbox.width, bbox.height);
  ctx.clip();
  draw(ctx);
  ctx.restore();
}

/** Under everything else. */
export function drawSheet(u: uPlot, { coming, toMs }: Drawing, colours: Colours): void {
  if (!coming || coming.todayMs >= toMs) return;
  const { bbox } = u;
  clipped(u, (ctx) => {
    const left = Math.round(u.valToPos(coming.todayMs, 'x', true));
    ctx.fillStyle = colours.sheet;
    ctx.fillRect(left, bbox.top, bbox.left + bbox.width - left, bbox.height);
    ctx.fillStyle = colours.rule2;
    ctx.fillRect(left, bbox.top, uPlot.pxRatio, bbox.height);
  });
}

/** The word for the edge of the sheet; once, on the topmost plot. */
export function drawToday(u: uPlot, { coming, fromMs, toMs }: Drawing, colours: Colours): void {
  if (!coming || coming.todayMs >= toMs || coming.todayMs < fromMs) return;
  const { ctx, bbox } = u;
  ctx.save();
  ctx.fillStyle = colours.ink2;
  ctx.font = `${12 * uPlot.pxRatio}px "Source Sans 3", system-ui, sans-serif`;
  ctx.textAlign = 'left';
  ctx.textBaseline = 'top';
  const left = u.valToPos(coming.todayMs, 'x', true) + 5 * uPlot.pxRatio;
  const room = bbox.left + bbox.width - left;
  if (ctx.measureText('today').width < room) ctx.fillText('today', left, bbox.top + 3 * uPlot.pxRatio);
  ctx.restore();
}

/** Stretches without a break, as lists of places in the columns. */
function stretches({ timesMs, low, middle, high }: FanColumns): number[][] {
  const runs: number[][] = [];
  let run: number[] = [];
  timesMs.forEach((_, i) => {
    const known = [low[i], middle[i], high[i]].every((value) => typeof value === 'number');
    if (known) run.push(i);
    if (known || run.length === 0) return;
    runs.push(run);
    run = [];
  });
  return run.length === 0 ? runs : [...runs, run];
}

export function drawFan(u: uPlot, fan: FanColumns | undefined, stroke: string): void {
  if (!fan) return;
  const x = (i: number) => u.valToPos(fan.timesMs[i] ?? 0, 'x', true);
  const y = (value: number | null | undefined) => u.valToPos(value ?? 0, 'y', true);
  clipped(u, (ctx) => {
    for (const run of stretches(fan)) {
      ctx.fillStyle = stroke;
      ctx.globalAlpha = 0.17;
      ctx.beginPath();
      for (const i of run) ctx.lineTo(x(i), y(fan.high[i]));
      for (const i of run.toReversed()) ctx.lineTo(x(i), y(fan.low[i]));
      ctx.fill();
      ctx.globalAlpha = 1;
      ctx.strokeStyle = stroke;
      ctx.lineWidth = 1.6 * uPlot.pxRatio;
      ctx.setLineDash([4 * uPlot.pxRatio, 3 * uPlot.pxRatio]);
      ctx.beginPath();
      for (const i of run) ctx.lineTo(x(i), y(fan.middle[i]));
      ctx.stroke();
    }
  });
}

/** A week each: no forecast knows the day. The words stand once, at the first that has room for them. */
export function drawBestWeeks(u: uPlot, { coming, fromMs, toMs }: Drawing, colours: Colours): void {
  if (!coming) return;
  const { ctx, bbox } = u;
  const shown = coming.bestMs.filter((atMs) => atMs + weekMs / 2 > fromMs && atMs - weekMs / 2 < toMs);
  if (shown.length === 0) return;
  const line = uPlot.pxRatio;
  const top = bbox.top + 18 * line;
  ctx.save();
  ctx.strokeStyle = colours.accent;
  ctx.fillStyle = colours.accent;
  ctx.lineWidth = 1.25 * line;
  ctx.font = `${12 * line}px "Source Sans 3", system-ui, sans-serif`;
  ctx.textAlign = 'left';
  ctx.textBaseline = 'bottom';
  let wordsEnd = Number.NEGATIVE_INFINITY;
  for (const atMs of shown) {
    const left = Math.max(bbox.left, u.valToPos(atMs - weekMs / 2, 'x', true));
    const right = Math.min(bbox.left + bbox.width, u.valToPos(atMs + weekMs / 2, 'x', true));
    ctx.strokeRect(
      Math.round(left) + 0.5,
      top,
      Math.max(3 * line, right - left),
      bbox.top + bbox.height - top - line,
    );
    const words = 'best week';
    const width = ctx.measureText(words).width;
    const begin = Math.max(
      bbox.left,
      Math.min((left + right - width) / 2, bbox.left + bbox.width - width - 2 * line),
    );
    if (begin < wordsEnd) continue;
    ctx.fillText(words, begin, top - 2 * line);
    wordsEnd = begin + width + 8 * line;
  }
  ctx.restore();
}
