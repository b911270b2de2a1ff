/** What a lost control points to, from how the inside has followed the room since. */
import type { ControlKind } from './control-model.ts';

export type ControlCause =
  | 'unplugged or off'
  | 'run dry'
  | 'humidifying side weak'
  | 'dehumidifying side weak';

/** What one day says: which side the room stands on, how wide the gap, how much of it was followed. */
export interface Told {
  readonly side: 'dry' | 'wet';
  readonly gapPct: number;
  readonly followedPct: number;
  /** Log-likelihood ratio, no control against working, clipped. */
  readonly ratio: number;
}

/** Share of the gap that was followed beyond what a working control lets through, wide gaps counting most. */
export function shareOf(days: readonly Told[]): number {
  let both = 0;
  let square = 0;
  for (const { gapPct, followedPct } of days) {
    both += gapPct * followedPct;
    square += gapPct ** 2;
  }
  return square === 0 ? 0 : both / square;
}

/**
 * All of the gap at once points to power; all of it by degrees to a tank that ran dry; part of it to a side that has grown weak.
 * The chances are proposals: nobody has counted.
 */
export function causeOf(
  days: readonly Told[],
  kind: ControlKind,
  side: 'dry' | 'wet',
): { cause: ControlCause; chance: number; why: string } {
  const share = shareOf(days);
  const isWhole = share > 0.75;
  if (side === 'wet') {
    const lostBoth = days.some((day) => day.side === 'dry');
    return isWhole && (kind === 'dehumidify' || lostBoth)
      ? { cause: 'unplugged or off', chance: 0.6, why: 'nothing of the drying is left.' }
      : {
          cause: 'dehumidifying side weak',
          chance: isWhole ? 0.5 : 0.8,
          why: 'the inside stands damper than it did in rooms like this.',
        };
  }
  if (!isWhole) {
    return {
      cause: 'humidifying side weak',
      chance: 0.6,
      why: 'part of the moistening is left; pads or tank may be failing, or running dry.',
    };
  }
  const early = shareOf(days.slice(0, 2));
  return early > 0.6
    ? {
        cause: 'unplugged or off',
        chance: 0.6,
        why: 'it went at once; a dry tank looks much the same, so look at both.',
      }
    : { cause: 'run dry', chance: 0.6, why: 'it went by degrees; look at the tank first, then at the plug.' };
}
