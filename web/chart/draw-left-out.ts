/** Where readings were left out as in doubt: a quiet shade under a short bar, however narrow the stretch. */
import uPlot from 'uplot';
import type { Colours } from './colours.ts';
import type { Drawing } from './drawing.ts';

const leastPx = 4;
const barPx = 3;

/** Under the lines. */
export function drawLeftOut(u: uPlot, { leftOut, fromMs, toMs }: Drawing, colours: Colours): void {
  const { ctx, bbox } = u;
  ctx.save();
  ctx.beginPath();
  ctx.rect(bbox.left, bbox.top, bbox.width, bbox.height);
  ctx.clip();
  ctx.fillStyle = colours.ink2;
  for (const one of leftOut) {
    if (one.untilMs < fromMs || one.fromMs > toMs) continue;
    const left = u.valToPos(one.fromMs, 'x', true);
    const right = u.valToPos(one.untilMs, 'x', true);
    const width = Math.max(leastPx * uPlot.pxRatio, right - left);
    const begin = Math.round((left + right - width) / 2);
    ctx.globalAlpha = 0.16;
    ctx.fillRect(begin, bbox.top, width, bbox.height);
    ctx.globalAlpha = 1;
    ctx.fillRect(begin, bbox.top, width, barPx * uPlot.pxRatio);
  }
  ctx.restore();
}
