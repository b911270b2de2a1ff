/** How long it takes to get to a venue, as somebody said or as is assumed; and what the ways of a year come to. Pure. */
import type { Venue } from '../contract/index.ts';
import { listed } from './year-gives.ts';
import type { Piece } from './year-plan.ts';

export interface Way {
  readonly minutes: number;
  /** Nobody said how long it takes. */
  readonly assumed: boolean;
}
export type WayTo = (venueId: string | null) => Way;

/** Common practice, no source: half an hour from one venue to the next in a town. */
const assumed: Way = { minutes: 30, assumed: true };
/** Common practice, no source: a day holds seven hours with the ways. */
export const dayMinutes = 420;
/** However far it is, whoever goes there does some work. */
const leastAtInstruments = 120;

export const nobodySaid: WayTo = () => assumed;

export const waysTo =
  (venues: ReadonlyMap<string, Pick<Venue, 'wayMinutes'>>): WayTo =>
  (venueId) => {
    const minutes = venues.get(venueId ?? '')?.wayMinutes ?? null;
    return minutes === null ? assumed : { minutes, assumed: false };
  };

/** Minutes at the instruments that one day holds at the end of such a way: there and back lie within it. */
export const dayHolds = (wayMinutes: number): number =>
  Math.max(leastAtInstruments, dayMinutes - 2 * wayMinutes);

/** The year's ways in a sentence; null where nothing is gone for. */
export function waysSentence(pieces: readonly Piece[], wayTo: WayTo): string | null {
  const months = new Map<string, { venueId: string; minutes: number }>();
  const names = new Map<string, string>();
  for (const { month, venueId, venueName, minutes } of pieces) {
    const key = `${month} ${venueId}`;
    months.set(key, { venueId, minutes: (months.get(key)?.minutes ?? 0) + minutes });
    names.set(venueId, venueName);
  }
  const total = [...months.values()].reduce((sum, { venueId, minutes }) => {
    const way = wayTo(venueId).minutes;
    return sum + Math.ceil(minutes / dayHolds(way)) * 2 * way;
  }, 0);
  const hours = Math.round(total / 60);
  if (hours === 0) return null;
  const unsaid = [...names].filter(([id]) => wayTo(id).assumed).map(([, name]) => name);
  const all = unsaid.length === names.size;
  const few = unsaid.length <= 3 ? listed(unsaid) : `${unsaid.length} of ${names.size} venues`;
  const taken =
    unsaid.length === 0
      ? ''
      : `; ${assumed.minutes}\u00a0minutes one way are assumed${all ? ', since none is entered at a venue' : ` for ${few}`}`;
  return `The ways there and back come to some ${hours}\u00a0${hours === 1 ? 'hour' : 'hours'} more, each month’s work at a venue done in as few days as hold it${taken}.`;
}
