/**
 * On which day to go: the first working day on which every call of a trip may be done and that still has room, the most
 * urgent trip first. As if one person went to all that nobody in particular was named for. Pure.
 */
import { DateTime } from 'luxon';
import type { Trip } from './rounds.ts';
import { dayMinutes } from './ways.ts';

/** Common practice, no source: work begins at nine. */
const beginsHour = 9;
/** Farther ahead nothing is proposed: such calls are better left to wait. */
const farthestDays = 120;

export interface Dated {
  readonly trip: Trip;
  readonly dateMs: number;
}

/** The day on the venue's own calendar, YYYY-MM-DD. */
export const isoDay = (timeMs: number, timeZone: string): string =>
  DateTime.fromMillis(timeMs, { zone: timeZone }).toISODate() ?? '';

export function proposeDates(trips: readonly Trip[], planned: readonly Dated[], nowMs: number): Dated[] {
  const taken = new Map<string, Spent>();
  const take = ({ personId, minutes, timeZone, way }: Trip, dateMs: number) => {
    const key = `${personId} ${isoDay(dateMs, timeZone)}`;
    const before = taken.get(key) ?? { minutes: 0, firstWay: way.minutes };
    taken.set(key, { ...before, minutes: before.minutes + minutes + way.minutes });
  };
  for (const { trip, dateMs } of planned) take(trip, dateMs);
  const latestOf = (trip: Trip) => trip.latestMs ?? Number.POSITIVE_INFINITY;
  return trips
    .toSorted((a, b) => b.urgency - a.urgency || latestOf(a) - latestOf(b))
    .map((trip) => {
      const spentOn = (day: DateTime) => taken.get(`${trip.personId} ${day.toISODate()}`);
      // What is more than a day by itself gets one of its own.
      const hasRoom = (day: DateTime) => {
        const spent = spentOn(day);
        return !spent || spent.minutes + trip.minutes + trip.way.minutes <= dayMinutes;
      };
      const days = daysFor(trip, nowMs);
      const day = days.find(hasRoom) ?? days.at(-1);
      const beginMs = day
        ? day.plus({ minutes: beginsAfter(spentOn(day), trip) }).toMillis()
        : trip.earliestMs;
      const dateMs = Math.max(nowMs, beginMs);
      take(trip, dateMs);
      return { trip, dateMs };
    });
}

/** What a day holds already, with the ways there. */
interface Spent {
  readonly minutes: number;
  /** The first way of a day is made before nine. */
  readonly firstWay: number;
}

const beginsAfter = (spent: Spent | undefined, { way }: Trip): number =>
  spent ? spent.minutes - spent.firstWay + way.minutes : 0;

/** The days on which a trip may be made, soonest first: working days where there is one, else any. */
function daysFor({ timeZone, earliestMs, latestMs, urgency }: Trip, nowMs: number): DateTime[] {
  const at = (ms: number) => DateTime.fromMillis(ms, { zone: timeZone }).startOf('day');
  // What cannot wait may be gone to today; the rest is proposed from tomorrow on.
  const soonest = urgency === 3 ? at(nowMs) : at(nowMs).plus({ days: 1 });
  const first = DateTime.max(at(earliestMs), soonest);
  const last = latestMs === null ? first.plus({ days: farthestDays }) : at(latestMs);
  const days: DateTime[] = [];
  for (let day = first; day <= last && days.length < farthestDays; day = day.plus({ days: 1 })) {
    days.push(day.set({ hour: beginsHour }));
  }
  const working = days.filter((day) => day.weekday <= 5);
  return working.length > 0 ? working : days.length > 0 ? days : [first.set({ hour: beginsHour })];
}
