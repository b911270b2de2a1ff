/** The five registers, from the wound strings up: the order of every array "by register" in this folder. */
export const registers = ['bass', 'tenor', 'middle', 'treble', 'top'] as const;
export type Register = (typeof registers)[number];

export type Kind = 'grand' | 'upright';
export type Finish = 'bare' | 'shellac' | 'lacquer' | 'varnish' | 'polyurethane';

/** What the model needs to know of an instrument besides its visits; `finish` is that of the soundboard. */
export interface Instrument {
  readonly id: string;
  readonly kind: Kind;
  readonly finish: Finish | null;
}
