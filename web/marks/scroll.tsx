/** A table too wide for the page scrolls by itself; with the keyboard too, which is why it can be focused. */
import type { ComponentChildren } from 'preact';

type ScrollProps = {
  readonly children: ComponentChildren;
} & ({ readonly label: string } | { readonly labelledBy: string });

export function Scroll(props: ScrollProps) {
  const name = 'label' in props ? { 'aria-label': props.label } : { 'aria-labelledby': props.labelledBy };
  return (
    // biome-ignore lint/a11y/noNoninteractiveTabindex: arrow keys scroll only what has the focus
    <section class="scroll" tabIndex={0} {...name}>
      {props.children}
    </section>
  );
}
