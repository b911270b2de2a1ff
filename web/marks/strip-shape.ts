/** The year strip as a few SVG paths: one for each moisture class that occurs, whatever the number of days. */
import type { InstrumentSummary } from '../../server/contract/index.ts';
import { type MoistureClass, moistureClass } from '../words/moisture.ts';

type Strip = InstrumentSummary['strip'];

export interface StripShape {
  /** In a box as wide as there are days and one unit high. */
  readonly paths: readonly { readonly moisture: MoistureClass; readonly d: string }[];
}

/**
 * A number that changes with any day of a strip: a poll brings new arrays with mostly the same days in them, and a
 * drawing is kept while it would look the same. Cheaper than comparing text, a thousand times over.
 */
export function stripMark({ endMs, moisturePct, visitsMs }: Strip): number {
  let mark = endMs;
  moisturePct.forEach((value, day) => {
    mark += (value ?? -1) * (day + 1.7);
  });
  for (const visitMs of visitsMs) mark += visitMs * 1.3;
  return mark;
}

/** Days of one class in a row become one rectangle; days without a value are left open. */
export function stripShape(
  moisturePct: readonly (number | null)[],
  classOf: (value: number) => MoistureClass = moistureClass,
): StripShape {
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
    const next = value === null ? null : classOf(value);
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
