import type { Finish } from '../films.ts';
import { REGISTERS, type Register } from '../pitch.ts';

/** The five registers, from the wound strings up: the order of every array "by register" in this folder. */
export const registers = REGISTERS;
export type { Finish, Register };

export type Kind = 'grand' | 'upright';

/** What the model needs to know of an instrument besides its visits; `finish` is that of the soundboard. */
export interface Instrument {
  readonly id: string;
  readonly kind: Kind;
  readonly finish: Finish | null;
}
