/** The frame of one page: its title in the tab, its heading in focus after a change of page. */
import type { ComponentChildren } from 'preact';
import { useEffect, useRef } from 'preact/hooks';

interface PageProps {
  readonly title: string;
  readonly children: ComponentChildren;
  /** Narrow pages hold a form or plain text. */
  readonly narrow?: boolean;
}

/** Set once the first page has been shown: then a change of page moves the focus, the first showing does not. */
let shownBefore = false;

export function Page({ title, children, narrow = false }: PageProps) {
  const main = useRef<HTMLElement>(null);
  useEffect(() => {
    document.title = `${title} · crownwatch`;
  }, [title]);
  useEffect(() => {
    if (shownBefore) main.current?.focus({ preventScroll: true });
    if (shownBefore) window.scrollTo(0, 0);
    shownBefore = true;
  }, []);
  return (
    <main id="page" ref={main} tabIndex={-1} class={narrow ? 'page narrow' : 'page'}>
      {children}
    </main>
  );
}
