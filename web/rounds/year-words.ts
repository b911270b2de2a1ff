/** How the year plan is said: months, hours, and the sentences of a request. */
import type { YearPlan } from '../../server/contract/index.ts';
import { count, nbsp, percent, plain } from '../words/numbers.ts';
import type { Saving } from './saving.ts';

/** "2026-11-01" -> "November", "Nov". */
export function monthName(month: string, style: 'long' | 'short'): string {
  const name = new Intl.DateTimeFormat('en-GB', { month: 'long', timeZone: 'UTC' }).format(Date.parse(month));
  return style === 'short' ? name.slice(0, 3) : name;
}

/** "118 hours", "1 hour", "0.5 hours". */
export function hours(value: number): string {
  const text = plain(value, Math.abs(value) < 10 && !Number.isInteger(value) ? 1 : 0);
  return `${text}${nbsp}${text === '1' ? 'hour' : 'hours'}`;
}

const days = (value: number): string => `${plain(value)}${nbsp}${plain(value) === '1' ? 'day' : 'days'}`;

export interface VenueYear {
  readonly venueId: string;
  readonly venueName: string;
  readonly hours: number;
  readonly instruments: number;
}

/** The venues of a plan, the largest first. */
export function venuesOf({ months, instruments }: YearPlan): VenueYear[] {
  const venues = new Map<string, VenueYear>();
  for (const { venues: listed } of months) {
    for (const { venueId, venueName, hours: its } of listed) {
      const known = venues.get(venueId)?.hours ?? 0;
      venues.set(venueId, {
        ...{ venueId, venueName, hours: known + its },
        instruments: instruments.filter((one) => one.venueId === venueId).length,
      });
    }
  }
  return [...venues.values()].sort((a, b) => b.hours - a.hours);
}

/** What one venue asks for, in the words of a request to it. */
export function requestWords(plan: YearPlan, venue: VenueYear): string {
  const months = plan.months.map(({ month, venues }) => ({
    month,
    hours: venues.find((one) => one.venueId === venue.venueId)?.hours ?? 0,
  }));
  const fullest = months.toSorted((a, b) => b.hours - a.hours)[0];
  const most = fullest
    ? ` Most of them fall in ${monthName(fullest.month, 'long')}: ${hours(fullest.hours)}.`
    : '';
  return (
    `The ${count(venue.instruments, 'instrument')} of ${venue.venueName} ask for ${hours(venue.hours)} of work in the ` +
    `coming year, without the way there.${most}`
  );
}

export function savingWords(saving: Saving, held: string): string {
  const { savedHours, leastHours, mostHours, daysBeyond, plannedHours, leftHours } = saving;
  const fewer = savedHours >= 0 ? 'fewer' : 'more';
  return (
    `${held}, keeping ${count(saving.answered, 'instrument')} within tolerance would take ${hours(Math.abs(savedHours))} ${fewer} ` +
    `of tuning a year (8 in 10: ${plain(leastHours)} to ${hours(mostHours)}, each piano’s range added up). ` +
    `A piano would be out of tolerance on ${days(daysBeyond[1])} a year instead of ${plain(daysBeyond[0])}. ` +
    `In the same proportion the ${hours(plannedHours)} of tuning in this plan would become ${hours(leftHours)}` +
    `${saving.asItIsHours > 0 ? `, ${percent(Math.abs(100 * (1 - leftHours / plannedHours)))} ${leftHours <= plannedHours ? 'less' : 'more'}` : ''}.`
  );
}

export function boardWords({ boardDays, litresAdded }: Saving): string {
  const board =
    boardDays[0] < 0.5 && boardDays[1] < 0.5
      ? 'No board comes past half of what it can bear either way.'
      : `Boards would stand past half of what they can bear on ${days(boardDays[1])} a year instead of ${plain(boardDays[0])}, the mean of all.`;
  const water =
    litresAdded === null
      ? ''
      : ` About ${plain(litresAdded)}${nbsp}litres of water would have to be added in such a year, counted for each piano’s room.`;
  return board + water;
}
