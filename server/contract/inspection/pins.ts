/** Tuning pins: classes of torque, and what lowering and raising a string tells where there is no wrench. */
import type { Class0to3 } from '../quantities.ts';

/** Pins are tried in each of them. */
export const pinSections = ['bass', 'tenor', 'treble', 'top'] as const;
export const pinFeels = ['tight', 'fair', 'loose', 'jumpy'] as const;
export type PinFeel = (typeof pinFeels)[number];

/**
 * From below which torque, N·m, a pin is minor, moderate, major. Common practice, no source: new and good 6.8 to 13.6,
 * serviceable from 5.6, marginal from 4, failing below 3.4; between marginal and failing counts as moderate.
 */
const from: readonly [number, number, number] = [5.6, 4.5, 3.4];

export function torqueClass(torqueNm: number): Class0to3 {
  if (torqueNm >= from[0]) return 0;
  if (torqueNm >= from[1]) return 1;
  return torqueNm > from[2] ? 2 : 3;
}

export interface PinSample {
  readonly torqueNm: number | null;
  readonly feel: PinFeel | null;
  /** Does the string stay where it was left? */
  readonly holds: boolean | null;
}

/** A pin that does not hold is major, whatever it feels like. Null: nothing was tried. */
export function pinClass(sample: PinSample): Class0to3 | null {
  if (sample.holds === false) return 3;
  if (sample.torqueNm !== null) return torqueClass(sample.torqueNm);
  if (sample.feel === null) return sample.holds === true ? 0 : null;
  return sample.feel === 'loose' ? 2 : sample.feel === 'jumpy' ? 1 : 0;
}

/** The class of the whole: the worst section, where a section is its middle sample. */
export function pinsClass(samples: readonly (PinSample & { readonly section: string })[]): Class0to3 | null {
  const bySection = new Map<string, Class0to3[]>();
  for (const sample of samples) {
    const one = pinClass(sample);
    if (one !== null) bySection.set(sample.section, [...(bySection.get(sample.section) ?? []), one]);
  }
  const middles = [...bySection.values()].map((all) => {
    const sorted = all.toSorted((a, b) => a - b);
    // Of two the worse counts.
    return sorted[Math.floor(sorted.length / 2)] ?? 0;
  });
  return middles.length === 0 ? null : (Math.max(...middles) as Class0to3);
}
