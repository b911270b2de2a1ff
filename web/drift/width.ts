/** How wide an element is now, CSS px: a drawing with words in it is drawn anew, not stretched. */
import { useSignal } from '@preact/signals';
import type { RefObject } from 'preact';
import { useLayoutEffect, useRef } from 'preact/hooks';

export function useWidth<E extends HTMLElement>(): { ref: RefObject<E | null>; widthPx: number } {
  const ref = useRef<E>(null);
  const width = useSignal(0);
  useLayoutEffect(() => {
    const element = ref.current;
    if (!element) return;
    width.value = element.clientWidth;
    const observer = new ResizeObserver(() => {
      width.value = element.clientWidth;
    });
    observer.observe(element);
    return () => observer.disconnect();
  }, [width]);
  return { ref, widthPx: width.value };
}
