/**
 * The dry-to-damp scale of a room's air in nine classes of 5 %RH: its ends are where wood splits (under 25 %) and rust
 * begins (over 60 %); the same colours as the board's moisture, which comes to rest at about these (Wood Handbook, ch. 4).
 */
import type { MoistureClass } from './moisture.ts';
import { classes } from './moisture.ts';
import { percent, plain } from './numbers.ts';

const edgesPct = [25, 30, 35, 40, 45, 50, 55, 60] as const;
export const driestPct = 25;
export const dampestPct = 60;

/** A humidity on an edge belongs to the damper side of it. */
export function humidityClass(humidityPct: number): MoistureClass {
  return classes[edgesPct.filter((edgePct) => humidityPct >= edgePct).length] ?? 9;
}

interface Band {
  readonly wishedLowPct: number;
  readonly wishedHighPct: number;
}

/** "within what is wished", "7 points drier than wished". */
export function againstBand(humidityPct: number, { wishedLowPct, wishedHighPct }: Band): string {
  const points = (by: number) => `${plain(by)}\u00a0${plain(by) === '1' ? 'point' : 'points'}`;
  if (Math.round(humidityPct) < wishedLowPct)
    return `${points(wishedLowPct - humidityPct)} drier than wished`;
  if (Math.round(humidityPct) > wishedHighPct)
    return `${points(humidityPct - wishedHighPct)} damper than wished`;
  return 'within what is wished';
}

export const bandWords = ({ wishedLowPct, wishedHighPct }: Band): string =>
  `${plain(wishedLowPct)} to ${percent(wishedHighPct)}`;
