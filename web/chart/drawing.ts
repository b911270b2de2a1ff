/** All the three plots draw, on one time axis. */
import type { LeftOut } from '../../server/contract/index.ts';
import type { AirQuantity, Column } from './columns.ts';
import type { Coming } from './coming.ts';

export interface Drawing {
  readonly fromMs: number;
  readonly toMs: number;
  readonly timeZone: string;
  readonly quantity: AirQuantity;
  /** [times, room, inside] */
  readonly air: readonly [number[], Column, Column];
  /** [times, known, held], % moisture */
  readonly board: readonly [number[], Column, Column];
  /** [times, lower, offset, upper], cents: the band holds eight of ten */
  readonly pitch: readonly [number[], Column, Column, Column];
  readonly toleranceCents: number;
  /** Stretches of the air in which readings were left out. */
  readonly leftOut: readonly LeftOut[];
  /** The coming days; null where nothing can be foretold. */
  readonly coming: Coming | null;
  readonly visits: readonly { readonly atMs: number; readonly tuned: boolean }[];
}
