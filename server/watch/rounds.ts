/**
 * Calls gathered into trips. Pure: one venue, one day, one person; with a total time, what to bring, and the day to go.
 * What somebody planned stays as planned; the rest is proposed round it.
 */
import type { Call, Class0to3, Round } from '../contract/index.ts';
import { dayMs } from '../series/board-run.ts';
import { isoDay, proposeDates } from './trip-dates.ts';
import { dayHolds, nobodySaid, type Way, type WayTo } from './ways.ts';

/** A call that may only be done later than this is better left than gone for. */
const waitsMs = 5 * dayMs;

export const isWaiting = (call: Call, nowMs: number): boolean =>
  call.choice === null && call.earliestMs - nowMs > waitsMs && call.urgency < 3 && call.noticeIds.length > 0;

export interface Trip {
  readonly calls: readonly Call[];
  readonly timeZone: string;
  readonly personId: string | null;
  readonly minutes: number;
  readonly way: Way;
  readonly urgency: Class0to3;
  /** Every call may be done between these; latest null: none of them has an end. */
  readonly earliestMs: number;
  readonly latestMs: number | null;
}

/** In the order in which they would be gone for. */
export function roundsFrom(calls: readonly Call[], nowMs: number, wayTo: WayTo = nobodySaid): Round[] {
  const live = calls.filter((call) => call.choice?.choice !== 'declined' && !isWaiting(call, nowMs));
  const planned = grouped(
    live.filter((call) => call.choice?.plannedMs),
    (call) => `${venueOf(call)} ${isoDay(call.choice?.plannedMs ?? 0, call.timeZone)} ${personOf(call)}`,
  ).map((members) => {
    const dateMs = Math.min(...members.map((call) => call.choice?.plannedMs ?? nowMs));
    return { trip: tripOf(members, wayTo), dateMs, planned: true };
  });
  const open = grouped(
    live.filter((call) => !call.choice?.plannedMs),
    (call) => `${venueOf(call)} ${personOf(call)}`,
  )
    .flatMap(servedTogether)
    .flatMap((group) => splitByDay(group, dayHolds(wayTo(group[0]?.venueId ?? null).minutes)))
    .map((members) => tripOf(members, wayTo));
  const proposed = proposeDates(open, planned, nowMs).map((one) => ({ ...one, planned: false }));
  return [...planned, ...proposed]
    .map(({ trip, dateMs, planned: isPlanned }) => roundOf(trip, dateMs, isPlanned))
    .sort((a, b) => a.dateMs - b.dateMs || a.venueName.localeCompare(b.venueName));
}

const venueOf = (call: Call): string => call.venueId ?? call.venueName;
const personOf = (call: Call): string => call.choice?.personId ?? '';
/** "Fernmoor · Studio 4 · Grand 208 cm" stands in "Studio 4". */
const roomOf = (call: Call): string => call.place.split(' · ')[1] ?? call.place;
const byPlace = (a: Call, b: Call): number => a.place.localeCompare(b.place, 'en', { numeric: true });
const latestOf = (call: Call): number => call.latestMs ?? Number.POSITIVE_INFINITY;

function grouped(calls: readonly Call[], keyOf: (call: Call) => string): Call[][] {
  const groups = new Map<string, Call[]>();
  for (const call of calls) groups.set(keyOf(call), [...(groups.get(keyOf(call)) ?? []), call]);
  return [...groups.values()];
}

/** The fewest groups whose members share a day: whoever must be gone to first takes along all who may be gone to then. */
function servedTogether(calls: readonly Call[]): Call[][] {
  const groups: Call[][] = [];
  let rest = calls.toSorted((a, b) => latestOf(a) - latestOf(b));
  for (let [first] = rest; first; [first] = rest) {
    const latestMs = latestOf(first);
    groups.push(rest.filter((call) => call.earliestMs <= latestMs));
    rest = rest.filter((call) => call.earliestMs > latestMs);
  }
  return groups;
}

/** Room by room, the most urgent first, each on the first day that still holds it; what is more becomes a second trip. A room is not gone to twice. */
function splitByDay(calls: readonly Call[], holdsMinutes: number): Call[][] {
  const rooms = grouped(calls.toSorted(byPlace), roomOf).sort((a, b) => urgencyOf(b) - urgencyOf(a));
  const days: Call[][] = [];
  for (const room of rooms) {
    const day = days.find((one) => minutesOf(one) + minutesOf(room) <= holdsMinutes);
    if (day) day.push(...room);
    else days.push([...room]);
  }
  return days;
}

const minutesOf = (calls: readonly Call[]): number => calls.reduce((sum, call) => sum + call.minutes, 0);
const urgencyOf = (calls: readonly Call[]): Class0to3 =>
  calls.map((call) => call.urgency).sort((a, b) => b - a)[0] ?? 0;

function tripOf(calls: readonly Call[], wayTo: WayTo): Trip {
  const latestMs = Math.min(...calls.map(latestOf));
  return {
    calls: calls.toSorted(byPlace),
    timeZone: calls[0]?.timeZone ?? 'UTC',
    personId: calls[0]?.choice?.personId ?? null,
    minutes: minutesOf(calls),
    way: wayTo(calls[0]?.venueId ?? null),
    urgency: urgencyOf(calls),
    earliestMs: Math.max(...calls.map((call) => call.earliestMs)),
    latestMs: Number.isFinite(latestMs) ? latestMs : null,
  };
}

function roundOf(
  { calls, timeZone, personId, minutes, way, latestMs }: Trip,
  dateMs: number,
  planned: boolean,
): Round {
  const [first] = calls;
  return {
    venueId: first?.venueId ?? null,
    venueName: first?.venueName ?? '',
    timeZone,
    dateMs,
    planned,
    latestMs,
    personId,
    minutes,
    wayMinutes: way.minutes,
    wayAssumed: way.assumed,
    bring: [...new Set(calls.flatMap((call) => call.bring))],
    calls: [...calls],
  };
}
