import { type Course, isMeasured, rangeOver } from '../course.ts';
import type { Situation } from '../situation.ts';
import { percent } from '../wording.ts';
import { afterHours, type Rule } from './rule.ts';

interface Seen {
  readonly hours: number;
  readonly name: string;
  readonly low: number;
  readonly high: number;
  readonly limit: number;
}

/** The day and the week, whichever is further beyond its limit first. */
function seen(course: Course, settings: Situation['settings']): Seen | null {
  const windows = [
    { hours: 24, name: '24\u00a0hours', limit: settings['swing day'] },
    { hours: 168, name: '7\u00a0days', limit: settings['swing week'] },
  ];
  let worst: Seen | null = null;
  for (const window of windows) {
    const range = rangeOver(course, window.hours);
    if (!range) continue;
    const share = (range.high - range.low) / window.limit;
    if (!worst || share > (worst.high - worst.low) / worst.limit) worst = { ...window, ...range };
  }
  return worst;
}

/** The air at the piano swings more than tunings can bear. */
export const swing: Rule = {
  name: 'swing',
  basis: 'air',
  // Air that swings again within the week has not stopped swinging: one notice, not one a weather front.
  durations: () => afterHours(3, 168),
  measure({ course, settings }) {
    const worst = isMeasured(course) ? seen(course, settings) : null;
    if (!worst) return null;
    const share = (worst.high - worst.low) / worst.limit;
    return { over: share > 1, quiet: share < settings['swing ends'] };
  },
  severity({ course, settings }) {
    const worst = seen(course, settings);
    return worst && worst.high - worst.low > 2 * worst.limit ? 2 : 1;
  },
  say({ course, settings }) {
    const worst = seen(course, settings) ?? { hours: 0, name: '', low: 0, high: 0, limit: 0 };
    return {
      what: `The humidity at the piano went from ${percent(worst.low)} to ${percent(worst.high)} within ${worst.name}.`,
      why: 'Unisons spread when the air swings faster than the board can follow.',
      toDo: 'Find what changed: heating, an open window or door, a humidifier that ran dry. Keep the day within 5 points where you can.',
      toVenue:
        'The air in this room swings: look for a window or door left open, heating that was changed, a humidifier that ran dry.',
      toClient: 'The air around your piano has changed quickly.',
      notBeforeMs: null,
      minutes: 0,
      evidence: {
        'lowest, %RH': worst.low,
        'highest, %RH': worst.high,
        'window, hours': worst.hours,
        'limit, points': worst.limit,
      },
    };
  },
};
