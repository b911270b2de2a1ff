/** What a key does on the chart. */

export type Act =
  | { readonly kind: 'point'; readonly timeMs: number }
  | { readonly kind: 'draw'; readonly fromMs: number; readonly toMs: number }
  | { readonly kind: 'out' };

interface Standing {
  /** Where the cursor is, or the end while it is nowhere. */
  readonly hereMs: number;
  readonly fromMs: number;
  readonly untilMs: number;
  /** From one point of the chart to the next. */
  readonly stepMs: number;
}

/** Arrows step, with Shift ten times as far; Home and End go to the ends; + and - zoom; Escape goes back to the year. */
export function pressed(event: KeyboardEvent, { hereMs, fromMs, untilMs, stepMs }: Standing): Act | null {
  // Browsers' own shortcuts stay theirs.
  if (event.ctrlKey || event.metaKey || event.altKey) return null;
  const length = untilMs - fromMs;
  const by = (event.shiftKey ? 10 : 1) * stepMs;
  const point = (timeMs: number): Act => ({
    kind: 'point',
    timeMs: Math.min(untilMs, Math.max(fromMs, timeMs)),
  });
  switch (event.key) {
    case 'ArrowLeft':
      return point(hereMs - by);
    case 'ArrowRight':
      return point(hereMs + by);
    case 'Home':
      return point(fromMs);
    case 'End':
      return point(untilMs);
    case '+':
    case '=':
      return { kind: 'draw', fromMs: hereMs - length / 4, toMs: hereMs + length / 4 };
    case '-':
      return { kind: 'draw', fromMs: fromMs - length / 2, toMs: untilMs + length / 2 };
    case 'Escape':
      return { kind: 'out' };
    default:
      return null;
  }
}
