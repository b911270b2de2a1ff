/** Calls gathered into trips. Pure: one venue, one trip, ordered by room, with a total time and what to bring. */
import type { Call, Round } from '../contract/index.ts';
import { dayMs } from '../series/board-run.ts';

/** A call that may only be done later than this is better left than gone for. */
const waitsMs = 5 * dayMs;

export const isWaiting = (call: Call, nowMs: number): boolean =>
  call.choice === null && call.earliestMs - nowMs > waitsMs && call.urgency < 3 && call.noticeIds.length > 0;

export function roundsFrom(calls: readonly Call[], nowMs: number): Round[] {
  const trips = new Map<string, Call[]>();
  for (const call of calls) {
    if (call.choice?.choice === 'declined' || isWaiting(call, nowMs)) continue;
    // What somebody planned for a day is a trip of that day; the rest of a venue goes together.
    const day = call.choice?.plannedMs ? Math.floor(call.choice.plannedMs / dayMs) : 'open';
    const key = `${call.venueId ?? call.venueName} ${day}`;
    trips.set(key, [...(trips.get(key) ?? []), call]);
  }
  return [...trips.values()]
    .flatMap((members): Round[] => {
      const [first] = members;
      if (!first) return [];
      const planned = first.choice?.plannedMs ?? null;
      return [
        {
          venueId: first.venueId,
          venueName: first.venueName,
          timeZone: first.timeZone,
          dateMs: planned ?? commonDay(members, nowMs),
          planned: planned !== null,
          minutes: members.reduce((sum, one) => sum + one.minutes, 0),
          bring: [...new Set(members.flatMap((one) => one.bring))],
          calls: members.toSorted((a, b) => a.place.localeCompare(b.place, 'en', { numeric: true })),
        },
      ];
    })
    .sort((a, b) => a.dateMs - b.dateMs);
}

/** The first day on which all may be done, unless one cannot wait so long: then its latest. */
function commonDay(calls: readonly Call[], nowMs: number): number {
  const earliest = Math.max(...calls.map((one) => one.earliestMs));
  const latest = Math.min(...calls.map((one) => one.latestMs ?? Number.POSITIVE_INFINITY));
  return Math.max(nowMs, Math.min(earliest, latest));
}
