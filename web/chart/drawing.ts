/** All the three plots draw, on one time axis. */
import type { AirQuantity, Column } from './columns.ts';

export interface Drawing {
  readonly fromMs: number;
  readonly toMs: number;
  readonly timeZone: string;
  readonly quantity: AirQuantity;
  /** [times, room, inside] */
  readonly air: readonly [number[], Column, Column];
  /** [times, known, held], % moisture */
  readonly board: readonly [number[], Column, Column];
  /** [times, lower, offset, upper], cents */
  readonly pitch: readonly [number[], Column, Column, Column];
  readonly toleranceCents: number;
  readonly visits: readonly { readonly atMs: number; readonly tuned: boolean }[];
}
