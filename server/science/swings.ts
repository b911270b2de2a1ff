/**
 * How unsteady the air was, in the sense the board feels: spikes under 3 hours do not reach the wood and are ignored.
 * Limits of a day and a week are common practice, no source: 10 %RH in 24 hours, 15 in 7 days.
 */

import { within } from './range.ts';
import type { Hourly } from './running.ts';

const WINDOW = 5;

/**
 * The series without spikes of one or two hours: the median of five hours about each, which keeps steps and ramps.
 * At the ends the five hours nearest; the median of those measured, null where fewer than three of them were.
 */
export function withoutSpikes(values: Hourly): (number | null)[] {
  const half = (WINDOW - 1) / 2;
  return values.map((value, i) => {
    if (value === null) return null;
    const from = Math.max(0, Math.min(i - half, values.length - WINDOW));
    const near = values.slice(from, from + WINDOW).filter((one): one is number => one !== null);
    if (near.length < 3) return null;
    near.sort((a, b) => a - b);
    const middle = (near.length - 1) / 2;
    return ((near[Math.floor(middle)] ?? 0) + (near[Math.ceil(middle)] ?? 0)) / 2;
  });
}

/**
 * Greatest less least value within the window up to each hour, spikes ignored; null where less than half of it was
 * measured. A window longer than what has passed takes what there is.
 * @param windowHours 24 for the day's change, 168 for the week's
 */
export function swing(values: Hourly, windowHours: number): (number | null)[] {
  within('windowHours', windowHours, 2, 1e5);
  const calm = withoutSpikes(values);
  // Indices whose values fall (or rise) from front to back: the front is the window's greatest (or least).
  const greatest: number[] = [];
  const least: number[] = [];
  let greatestFront = 0;
  let leastFront = 0;
  let measured = 0;
  const at = (i: number | undefined): number => (i === undefined ? Number.NaN : (calm[i] ?? Number.NaN));
  return calm.map((value, i) => {
    const gone = i - windowHours;
    if (gone >= 0 && calm[gone] !== null) measured -= 1;
    if ((greatest[greatestFront] ?? i) <= gone) greatestFront += 1;
    if ((least[leastFront] ?? i) <= gone) leastFront += 1;
    if (value !== null) {
      measured += 1;
      while (greatest.length > greatestFront && at(greatest.at(-1)) <= value) greatest.pop();
      greatest.push(i);
      while (least.length > leastFront && at(least.at(-1)) >= value) least.pop();
      least.push(i);
    }
    if (measured === 0 || measured < Math.min(i + 1, windowHours) / 2) return null;
    return at(greatest[greatestFront]) - at(least[leastFront]);
  });
}
