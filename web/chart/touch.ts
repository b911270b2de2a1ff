/**
 * Zooming with a finger. `touch-action: pan-y` gives vertical drags to the page, so that it scrolls; horizontal ones
 * come here and draw out a stretch of time. A tap is left to the plot's own cursor.
 */
import type uPlot from 'uplot';

/** A drag this short is a tap that slipped, CSS px. */
export const leastDragPx = 12;

export function zoomByTouch(u: uPlot, drawn: (fromMs: number, toMs: number) => void): () => void {
  const { over } = u;
  let begunAt: number | null = null;

  const leftOf = (event: PointerEvent) => {
    const box = over.getBoundingClientRect();
    return Math.min(box.width, Math.max(0, event.clientX - box.left));
  };
  const clear = () => u.setSelect({ left: 0, top: 0, width: 0, height: 0 }, false);
  const down = (event: PointerEvent) => {
    if (event.pointerType === 'mouse') return;
    if (!event.isPrimary) {
      // A second finger: the browser may pinch; nothing is drawn out.
      begunAt = null;
      clear();
      return;
    }
    begunAt = leftOf(event);
    over.setPointerCapture(event.pointerId);
  };
  const move = (event: PointerEvent) => {
    if (begunAt === null || event.pointerType === 'mouse') return;
    const at = leftOf(event);
    const top = 0;
    u.setSelect(
      { left: Math.min(begunAt, at), top, width: Math.abs(at - begunAt), height: over.clientHeight },
      false,
    );
  };
  const up = (event: PointerEvent) => {
    if (begunAt === null || event.pointerType === 'mouse') return;
    const from = begunAt;
    const to = leftOf(event);
    begunAt = null;
    clear();
    if (Math.abs(to - from) < leastDragPx) return;
    drawn(u.posToVal(Math.min(from, to), 'x'), u.posToVal(Math.max(from, to), 'x'));
  };
  // The browser took the gesture over: it was a scroll.
  const cancel = () => {
    begunAt = null;
    clear();
  };
  const listeners: [string, (event: PointerEvent) => void][] = [
    ['pointerdown', down],
    ['pointermove', move],
    ['pointerup', up],
    ['pointercancel', cancel],
  ];
  for (const [type, listener] of listeners) over.addEventListener(type, listener as EventListener);
  return () => {
    for (const [type, listener] of listeners) over.removeEventListener(type, listener as EventListener);
  };
}
