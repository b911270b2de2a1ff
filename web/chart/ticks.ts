/** Where the time axis is marked, and with what words, by the clock of the venue. */
import { dayMs } from '../words/times.ts';
import { instantMs, wallTime } from '../words/zoned.ts';

export interface Tick {
  readonly timeMs: number;
  readonly words: string;
}

type Step =
  | { readonly unit: 'hour'; readonly every: number }
  | { readonly unit: 'day'; readonly every: number }
  | { readonly unit: 'month'; readonly every: number };

/** From fine to coarse, with roughly how long one step is. */
const steps: readonly (readonly [Step, number])[] = [
  [{ unit: 'hour', every: 3 }, 3 / 24],
  [{ unit: 'hour', every: 6 }, 6 / 24],
  [{ unit: 'hour', every: 12 }, 12 / 24],
  [{ unit: 'day', every: 1 }, 1],
  [{ unit: 'day', every: 2 }, 2],
  [{ unit: 'day', every: 5 }, 5],
  [{ unit: 'day', every: 10 }, 10],
  [{ unit: 'month', every: 1 }, 30.4],
  [{ unit: 'month', every: 2 }, 61],
  [{ unit: 'month', every: 3 }, 91],
  [{ unit: 'month', every: 6 }, 183],
  [{ unit: 'month', every: 12 }, 365],
];

const monthNames = ['Jan', 'Feb', 'Mar', 'Apr', 'May', 'Jun', 'Jul', 'Aug', 'Sep', 'Oct', 'Nov', 'Dec'];

/** The finest step whose marks stand at least `leastDays` apart. */
function stepFor(leastDays: number): Step {
  return steps.find(([, days]) => days >= leastDays)?.[0] ?? { unit: 'month', every: 12 };
}

function words(timeMs: number, step: Step, timeZone: string, previousYear: number | null): string {
  const { year, month, day, hour } = wallTime(timeMs, timeZone);
  const name = monthNames[month - 1] ?? '';
  if (step.unit === 'month') return previousYear !== null && year !== previousYear ? `${name} ${year}` : name;
  if (step.unit === 'day' || hour === 0) return `${day} ${name}`;
  return `${String(hour).padStart(2, '0')}:00`;
}

/**
 * @param leastApartMs least distance between two marks, ms
 * @returns ascending, within [fromMs, toMs]
 */
export function ticks(fromMs: number, toMs: number, leastApartMs: number, timeZone: string): Tick[] {
  const step = stepFor(leastApartMs / dayMs);
  const start = wallTime(fromMs, timeZone);
  const marks: Tick[] = [];
  let previousYear: number | null = null;
  for (let i = 0; i < 2000; i += 1) {
    let timeMs: number;
    if (step.unit === 'month') {
      const first = Math.floor((start.month - 1) / step.every) * step.every + 1;
      timeMs = instantMs({ ...start, month: first + i * step.every, day: 1, hour: 0, minute: 0 }, timeZone);
    } else if (step.unit === 'day') {
      // Counted within each month, so that the marks are the 1st, 6th, 11th … and the month's own begin among them.
      timeMs = instantMs({ ...start, day: start.day + i, hour: 0, minute: 0 }, timeZone);
      const { day } = wallTime(timeMs, timeZone);
      if ((day - 1) % step.every !== 0 || (step.every > 1 && day > 30)) {
        if (timeMs > toMs) break;
        continue;
      }
    } else {
      const first = Math.floor(start.hour / step.every) * step.every;
      timeMs = instantMs({ ...start, hour: first + i * step.every, minute: 0 }, timeZone);
    }
    if (timeMs > toMs) break;
    if (timeMs < fromMs) continue;
    // On the night summer time ends, two marks can fall together; the axis wants each instant once.
    if (timeMs === marks.at(-1)?.timeMs) continue;
    marks.push({ timeMs, words: words(timeMs, step, timeZone, previousYear) });
    previousYear = wallTime(timeMs, timeZone).year;
  }
  return marks;
}
