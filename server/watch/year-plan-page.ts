/** Reads what the year plan is made of: registry, outlooks, open calls, and best dates as far as they are known. */
import type { YearPlan } from '../contract/index.ts';
import type { Database } from '../db/database.ts';
import { instruments } from '../registry/instruments.ts';
import type { Viewer } from '../registry/viewer.ts';
import type { KeptDates } from './kept-dates.ts';
import { openCalls } from './open-calls.ts';
import { loadOutlooks } from './outlook-store.ts';
import { registryFacts } from './registry-facts.ts';
import { roundsFrom } from './rounds.ts';
import { tuningsAYear } from './rules/service-due.ts';
import { waysTo } from './ways.ts';
import { type OpenWork, yearPlanOf } from './year-plan.ts';

/** How long one question may work on best dates; the rest is worked out with the next. */
const workForMs = 2000;
const usualTuningMinutes = 90;
/** More tunings than this are not placed one by one: they are spread over the year. */
const mostPlaced = 12;

export async function yearPlanPage(
  db: Database,
  viewer: Viewer,
  dates: KeptDates,
  availableHours: number,
  nowMs: number,
): Promise<YearPlan> {
  const all = await instruments(db, viewer);
  const facts = await registryFacts(db, viewer);
  const ids = all.map((one) => one.id);
  const outlooks = ids.length === 0 ? new Map() : await loadOutlooks(db, ids);
  const calls = (await openCalls(db, viewer, nowMs)).filter((one) => one.choice?.choice !== 'declined');
  const wayTo = waysTo(facts.venues);
  const roundOf = new Map(
    roundsFrom(calls, nowMs, wayTo).flatMap(({ dateMs, calls: its }) =>
      its.map(({ id }) => [id, dateMs] as const),
    ),
  );
  const whenOf = (call: (typeof calls)[number]) => roundOf.get(call.id) ?? call.earliestMs;
  const wanted = all.map((instrument) => ({
    id: instrument.id,
    tunings: tuningsAYear({ settings: facts.settingsFor(instrument), instrument }),
    lastTunedMs: outlooks.get(instrument.id)?.lastTunedMs ?? null,
  }));
  const placed = wanted.filter(({ tunings }) => tunings > 0 && tunings <= mostPlaced);
  await dates.workOut(placed, nowMs, workForMs);
  const known = dates.known(placed, nowMs);
  // A tuning for an event comes on top of the year's own; one that the pitch asks for is the first of them.
  const isEvent = (call: (typeof calls)[number]) => call.noticeIds.length === 0;
  const openWork = calls.flatMap((call): OpenWork[] => {
    if (call.venueId === null || call.kind === 'inspection' || (call.kind === 'tuning' && !isEvent(call)))
      return [];
    const kind = call.kind === 'tuning' ? 'tunings' : 'others';
    const { venueId, venueName, minutes } = call;
    return [{ venueId, venueName, kind, atMs: whenOf(call), minutes }];
  });
  const planned = all.map((instrument, i) => {
    const outlook = outlooks.get(instrument.id);
    const call = calls.find(
      (one) => one.instrumentId === instrument.id && one.kind === 'tuning' && !isEvent(one),
    );
    return {
      id: instrument.id,
      name: `${instrument.roomName} · ${instrument.name}`,
      venueId: instrument.venueId,
      venueName: instrument.venueName,
      use: instrument.use,
      tunings: wanted[i]?.tunings ?? 0,
      inspections: facts.settingsFor(instrument)['inspections a year'],
      tuningMinutes: outlook?.tuningMinutes ?? usualTuningMinutes,
      lastTunedMs: outlook?.lastTunedMs ?? null,
      lastInspectedMs: outlook?.lastInspectedMs ?? null,
      openTuningMs: call ? whenOf(call) : null,
      bestDatesMs: known.get(instrument.id) ?? null,
    };
  });
  return {
    ...yearPlanOf(planned, openWork, availableHours, nowMs, wayTo),
    pending: placed.length - known.size,
  };
}
