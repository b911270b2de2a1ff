/** What would have to give where a month asks for more hours than there are: what moves, and what would be left out. Pure. */
import { DateTime } from 'luxon';
import type { Use, YearPlan } from '../contract/index.ts';
import type { Piece } from './year-plan.ts';

type Months = readonly Omit<YearPlan['months'][number], 'venues'>[];

/** Who bears being left out a season best, first: common practice, no source. */
const leftOutFirst: readonly Use[] = ['practice', 'worship', 'home', 'studio', 'concert'];
const useWords: Record<Use, string> = {
  practice: 'practice instruments',
  worship: 'instruments for worship',
  home: 'instruments at homes',
  studio: 'teaching instruments',
  concert: 'concert instruments',
};

const hoursOf = (value: number): string =>
  `${Math.round(value)}\u00a0${Math.round(value) === 1 ? 'hour' : 'hours'}`;
const nameOf = (month: string): string =>
  DateTime.fromISO(month, { zone: 'utc' }).toFormat('LLLL', { locale: 'en-GB' });
export const listed = (words: readonly string[]): string =>
  words.length < 2 ? (words[0] ?? '') : `${words.slice(0, -1).join(', ')} and ${words.at(-1)}`;

function findRoom(hours: number, to: readonly string[]): string {
  const [first, last] = [to[0] ?? '', to.at(-1) ?? ''];
  const find = Math.round(hours) === 1 ? 'finds' : 'find';
  if (to.length > 2) return `${find} room only between ${nameOf(first)} and ${nameOf(last)}`;
  return `${find} room only in ${listed(to.map(nameOf))}`;
}

export function planSentences(months: Months, pieces: readonly Piece[], availableHours: number): string[] {
  const total = months.reduce((sum, one) => sum + one.hours, 0);
  const asked = `The coming year asks for ${hoursOf(total)} at the instruments.`;
  if (availableHours === 0) return [asked];
  const over = months.filter((one) => one.hours > one.available);
  if (over.length === 0) {
    return [asked, `No month asks for more than the ${availableHours}\u00a0hours there are.`];
  }
  const { moves, missing } = moved(months);
  return [
    asked,
    `${listed(over.map((one) => nameOf(one.month)))} ${over.length === 1 ? 'asks' : 'ask'} for more than the ${availableHours}\u00a0hours there are${over[0] === months[0] ? ', or what is left of them' : ''}.`,
    ...moves.map(({ hours, from, to }) => `${hoursOf(hours)} of ${nameOf(from)} ${findRoom(hours, to)}.`),
    ...(missing > 0.5 ? [leftOut(pieces, missing)] : []),
  ];
}

/** What is too much moves on to the next months that have room, never back: earlier is often before the season turned. */
function moved(months: Months): { moves: { hours: number; from: string; to: string[] }[]; missing: number } {
  const free = months.map((one) => Math.max(0, one.available - one.hours));
  const moves: { hours: number; from: string; to: string[] }[] = [];
  let missing = 0;
  months.forEach(({ month, hours, available }, i) => {
    let rest = hours - available;
    if (rest <= 0) return;
    const to: string[] = [];
    for (let next = i + 1; next < months.length && rest > 0; next += 1) {
      const takes = Math.min(rest, free[next] ?? 0);
      if (takes <= 0) continue;
      free[next] = (free[next] ?? 0) - takes;
      rest -= takes;
      to.push(months[next]?.month ?? '');
    }
    const went = hours - available - rest;
    if (went > 0.5) moves.push({ hours: went, from: month, to });
    missing += Math.max(0, rest);
  });
  return { moves, missing };
}

function leftOut(pieces: readonly Piece[], missingHours: number): string {
  const given: string[] = [];
  let rest = missingHours;
  for (const use of leftOutFirst) {
    if (rest <= 0) break;
    const tunings = pieces.filter((one) => one.kind === 'tunings' && one.use === use);
    let [count, hours] = [0, 0];
    for (const { minutes } of tunings) {
      if (hours >= rest) break;
      count += 1;
      hours += minutes / 60;
    }
    if (count === 0) continue;
    rest -= hours;
    given.push(`${count} ${count === 1 ? 'tuning' : 'tunings'} of ${useWords[use]}`);
  }
  return `${hoursOf(missingHours)} find no room in this year: ${listed(given)} would have to be left out, more hands found, or the rooms kept steadier.`;
}
