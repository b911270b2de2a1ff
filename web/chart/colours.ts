/** The tokens of the look as a canvas can use them: resolved for light or dark, and asked for again when that changes. */
import { classes, type MoistureClass } from '../words/moisture.ts';

export interface Colours {
  paper: string;
  sheet: string;
  ink: string;
  ink2: string;
  rule: string;
  rule2: string;
  accent: string;
  tolerance: string;
  moisture: Record<MoistureClass, string>;
}

export function readColours(within: HTMLElement): Colours {
  const probe = document.createElement('span');
  within.append(probe);
  const of = (token: string) => {
    probe.style.color = `var(--${token})`;
    return getComputedStyle(probe).color;
  };
  const colours: Colours = {
    paper: of('paper'),
    sheet: of('sheet'),
    ink: of('ink'),
    ink2: of('ink-2'),
    rule: of('rule'),
    rule2: of('rule-2'),
    accent: of('accent'),
    tolerance: of('tolerance'),
    moisture: Object.fromEntries(classes.map((c) => [c, of(`m${c}`)])) as Record<MoistureClass, string>,
  };
  probe.remove();
  return colours;
}

/** Calls back when light turns dark, dark turns light, or the page goes to the printer (always light). */
export function onColourChange(changed: () => void): () => void {
  const dark = matchMedia('(prefers-color-scheme: dark)');
  const toPaper = () => {
    document.documentElement.classList.add('on-paper');
    changed();
  };
  const toScreen = () => {
    document.documentElement.classList.remove('on-paper');
    changed();
  };
  dark.addEventListener('change', changed);
  addEventListener('beforeprint', toPaper);
  addEventListener('afterprint', toScreen);
  return () => {
    dark.removeEventListener('change', changed);
    removeEventListener('beforeprint', toPaper);
    removeEventListener('afterprint', toScreen);
  };
}
