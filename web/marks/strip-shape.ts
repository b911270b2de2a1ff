/** The year strip as a few SVG paths: one for each moisture class that occurs, whatever the number of days. */
import { type MoistureClass, moistureClass } from '../words/moisture.ts';

export interface StripShape {
  /** In a box as wide as there are days and one unit high. */
  readonly paths: readonly { readonly moisture: MoistureClass; readonly d: string }[];
}

/** Days of one class in a row become one rectangle; days without a value are left open. */
export function stripShape(moisturePct: readonly (number | null)[]): StripShape {
  const byClass = new Map<MoistureClass, string>();
  let begin = 0;
  let current: MoistureClass | null = null;
  const close = (end: number) => {
    if (current === null) return;
    // A hair of overlap, or the screen shows paper between neighbours; none where a gap follows.
    const overlap = end < moisturePct.length && moisturePct[end] !== null ? 0.4 : 0;
    byClass.set(current, `${byClass.get(current) ?? ''}M${begin} 0H${end + overlap}V1H${begin}Z`);
  };
  moisturePct.forEach((value, day) => {
    const next = value === null ? null : moistureClass(value);
    if (next === current) return;
    close(day);
    begin = day;
    current = next;
  });
  close(moisturePct.length);
  return {
    paths: [...byClass].sort(([a], [b]) => a - b).map(([moisture, d]) => ({ moisture, d })),
  };
}
