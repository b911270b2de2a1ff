/** All that the page of rounds shows, read in one go: trips, what is better left, what was declined or done. */
import type { RoundsPage } from '../contract/index.ts';
import type { Database } from '../db/database.ts';
import { venues } from '../registry/venues.ts';
import { seenBy, type Viewer } from '../registry/viewer.ts';
import { dayMs } from '../series/board-run.ts';
import { openCalls } from './open-calls.ts';
import { isWaiting, roundsFrom } from './rounds.ts';
import { waysTo } from './ways.ts';

const doneDays = 30;

export async function roundsPage(db: Database, viewer: Viewer, nowMs: number): Promise<RoundsPage> {
  const calls = await openCalls(db, viewer, nowMs);
  const wayTo = waysTo(new Map((await venues(db, viewer)).map((one) => [one.id, one])));
  const done = await db
    .selectFrom('call_done')
    .$call(seenBy(viewer, 'call_done'))
    .selectAll()
    .where('done_ms', '>=', nowMs - doneDays * dayMs)
    .orderBy('done_ms', 'desc')
    .execute();
  const counted = await db
    .selectFrom('instrument')
    .$call(seenBy(viewer, 'instrument'))
    .select(({ fn }) => fn.countAll<number>().as('count'))
    .executeTakeFirstOrThrow();
  return {
    instruments: Number(counted.count),
    rounds: roundsFrom(calls, nowMs, wayTo),
    waiting: calls.filter((one) => isWaiting(one, nowMs)),
    declined: calls.filter((one) => one.choice?.choice === 'declined'),
    done: done.map((one) => ({
      callId: one.call_id,
      visitId: one.visit_id,
      instrumentId: one.instrument_id,
      kind: one.kind,
      place: one.place,
      why: one.why,
      doneMs: one.done_ms,
    })),
  };
}
