/** The calls as they stand: what notices and events ask for, and what was decided about each. */
import type { Call, CallChoiceBody } from '../contract/index.ts';
import type { Database } from '../db/database.ts';
import { eventsOf } from '../registry/events.ts';
import { instruments, placeOf } from '../registry/instruments.ts';
import { venues } from '../registry/venues.ts';
import { seenBy, type Viewer } from '../registry/viewer.ts';
import { dayMs } from '../series/board-run.ts';
import { callsFrom, type EventTuning, eventCalls, swingsAgain } from './calls.ts';
import { notices } from './notices.ts';
import { loadOutlooks } from './outlook-store.ts';
import { seenTo } from './seen-to.ts';

/** A tuning so few days before the planned one is the one that was planned. */
const earlyDays = 3;

/** @param visits asked: with those that the last visits have done, but that are not on record as done yet */
export async function openCalls(
  db: Database,
  viewer: Viewer,
  nowMs: number,
  visits: 'counted' | 'asked' = 'counted',
): Promise<Call[]> {
  const [open, places, tunings, swinging, choices] = [
    await notices(db, viewer, { over: false }),
    await venues(db, viewer),
    await eventTunings(db, viewer, nowMs),
    await swingingOf(db, viewer, nowMs),
    await db.selectFrom('call_choice').$call(seenBy(viewer, 'call_choice')).selectAll().execute(),
  ];
  const placed = open.map((notice) => {
    const venue = places.find((one) => one.id === notice.venueId);
    return { notice, venueName: venue?.name ?? notice.place, timeZone: venue?.timeZone ?? 'UTC' };
  });
  const beganMs = new Map(open.map((one) => [one.id, one.beganMs]));
  const chosen = (call: Call): Call => {
    const choice = choices.find((one) => one.call_id === call.id);
    // A choice belongs to the episode it was made in: notices that all began later ask anew.
    const since = call.noticeIds.map((one) => beganMs.get(one) ?? 0);
    if (!choice || (since.length > 0 && since.every((one) => one > choice.chosen_ms))) return call;
    return {
      ...call,
      choice: {
        choice: choice.choice as CallChoiceBody['choice'],
        plannedMs: choice.planned_ms,
        personId: choice.person_id,
        reason: choice.reason,
        chosenMs: choice.chosen_ms,
      },
    };
  };
  const asked = callsFrom(placed, nowMs, swinging).map(chosen);
  const { done, visited } = await seenTo(db, viewer, open, asked);
  const still = placed.filter(
    ({ notice: { id } }) => !done.has(id) && (visits === 'asked' || !visited.has(id)),
  );
  const left = still.length === placed.length ? asked : callsFrom(still, nowMs, swinging).map(chosen);
  return [...eventCalls(tunings, nowMs).map(chosen), ...left];
}

/** Instruments whose air has swung time and again of late, for causes of their own. */
async function swingingOf(db: Database, viewer: Viewer, nowMs: number): Promise<Set<string>> {
  const rows = await db
    .selectFrom('notice')
    .$call(seenBy(viewer, 'notice'))
    .select('instrument_id')
    .where('rule', '=', 'swing')
    .where('part_of', 'is', null)
    .where('began_ms', '>=', nowMs - swingsAgain.days * dayMs)
    .groupBy('instrument_id')
    .having(({ fn }) => fn.countAll<number>(), '>=', swingsAgain.times)
    .execute();
  return new Set(rows.flatMap((row) => row.instrument_id ?? []));
}

async function eventTunings(db: Database, viewer: Viewer, nowMs: number): Promise<EventTuning[]> {
  const events = await eventsOf(db, viewer, { fromMs: nowMs });
  if (events.length === 0) return [];
  const all = await instruments(db, viewer);
  const ids = [...new Set(events.flatMap((one) => one.instrumentIds))];
  const outlooks = await loadOutlooks(db, ids);
  return events.flatMap((event) =>
    event.instrumentIds.flatMap((instrumentId): EventTuning[] => {
      const instrument = all.find((one) => one.id === instrumentId);
      const outlook = outlooks.get(instrumentId);
      const known = outlook?.events.find((one) => one.id === event.id);
      if (!instrument) return [];
      const tuneMs = known?.tuneMs ?? event.startMs - 2 * dayMs;
      if (outlook?.lastTunedMs && outlook.lastTunedMs >= tuneMs - earlyDays * dayMs) return [];
      return [
        {
          eventId: event.id,
          eventName: event.name,
          startMs: event.startMs,
          tuneMs,
          instrumentId,
          place: placeOf(instrument),
          venueId: instrument.venueId,
          venueName: instrument.venueName,
          timeZone: instrument.timeZone,
          minutes: outlook?.tuningMinutes ?? 90,
          unsteady: known?.unsteady ?? null,
          foretold: outlook?.comingBy === 'forecast',
        },
      ];
    }),
  );
}

/** Calls that were open before a visit and are not after it were done by it. */
export async function closeCalls(
  db: Database,
  viewer: Viewer,
  before: readonly Call[],
  instrumentIds: readonly string[],
  nowMs: number,
): Promise<void> {
  const after = new Set((await openCalls(db, viewer, nowMs)).map((one) => one.id));
  for (const call of before) {
    if (after.has(call.id) || !call.instrumentId || !instrumentIds.includes(call.instrumentId)) continue;
    const visit = await db
      .selectFrom('visit')
      .$call(seenBy(viewer, 'visit'))
      .select(['id', 'at_ms'])
      .where('instrument_id', '=', call.instrumentId)
      .orderBy('at_ms', 'desc')
      .executeTakeFirst();
    // Without a visit of these days something else ended it.
    if (!visit || nowMs - visit.at_ms > 14 * dayMs) continue;
    await db
      .insertInto('call_done')
      .values({
        call_id: call.id,
        visit_id: visit.id,
        organisation_id: viewer.organisationId,
        instrument_id: call.instrumentId,
        kind: call.kind,
        place: call.place,
        why: call.why,
        done_ms: visit.at_ms,
        planned_ms: call.choice?.plannedMs ?? null,
      })
      .onConflict((conflict) => conflict.doNothing())
      .execute();
    await db.deleteFrom('call_choice').where('call_id', '=', call.id).execute();
  }
}
