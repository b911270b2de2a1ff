/** Judges some hundreds of instruments at a time: reads what they need, asks the rules, and writes all of it at once. */
import { setImmediate as breathe } from 'node:timers/promises';
import type { PlacedInstrument } from '../registry/instruments.ts';
import { placeOf } from '../registry/instruments.ts';
import type { Viewer } from '../registry/viewer.ts';
import type { BoardDeps } from '../series/board.ts';
import { saveBoards } from '../series/boards.ts';
import { hourFloor, hourMs } from '../series/climate.ts';
import { longestStepMs, saveCourses, type Taken, takeAnew, takeOn } from './courses.ts';
import { decide, type Verdict } from './decide.ts';
import type { Watched } from './fold.ts';
import { isToBeWritten, type Known, type LastKnown, type Unwritten, unwrittenAfter } from './last-known.ts';
import { applyDecisions, openEpisodes } from './notices.ts';
import type { Outlook } from './outlook.ts';
import { gatherOutlook, saveOutlook } from './outlook-store.ts';
import type { RegistryFacts } from './registry-facts.ts';
import { saveStandings } from './standings.ts';

export { type Standing, standings } from './standings.ts';

/** An hour is judged this long after its end: most gateways have sent by then. */
export const graceMs = 5 * 60_000;
/** Others get their turn this often. */
const longestHoldMs = 20;
/** Instruments to a transaction. */
export const batchSize = 200;

export interface Asked {
  readonly instrument: PlacedInstrument;
  /** The earliest time whose air changed since the last evaluation; null: only newer hours. */
  readonly changedFromMs: number | null;
  /** Look a day ahead anew as well: a visit came, a setting changed, or the day has passed. */
  readonly renew: boolean;
}

export interface BatchDeps extends BoardDeps {
  readonly facts: RegistryFacts;
  /** Time of the last reading of a sensor, by its id. */
  readonly lastMs: ReadonlyMap<string, number>;
  /** Sensors that are not to be trusted, by id, with why. */
  readonly distrusted: ReadonlyMap<string, string>;
  /** What was last shown of each instrument, so that the same is not written again. */
  readonly shown: Map<string, string>;
  readonly lastKnown: LastKnown;
}

interface Judged {
  readonly asked: Asked;
  readonly taken: Taken | null;
  readonly outlook: Outlook | null;
  readonly renewed: boolean;
  readonly verdict: Verdict | null;
  readonly before: Known;
  /** Hours taken in since the rows were written, and whether they are to be now. */
  readonly unwritten: Unwritten | null;
  readonly writes: boolean;
}

/** @returns whether any notice began, ended or changed. */
export async function evaluateBatch(
  deps: BatchDeps,
  viewer: Viewer,
  batch: readonly Asked[],
  nowMs: number,
): Promise<boolean> {
  const { db } = deps;
  const ids = batch.map((one) => one.instrument.id);
  const known = await deps.lastKnown.load(db, ids);
  const judged: Judged[] = [];
  let heldSinceMs = performance.now();
  for (const asked of batch) {
    // A look far back takes tens of milliseconds; others must not wait for two hundred of them.
    if (performance.now() - heldSinceMs > longestHoldMs) {
      await breathe();
      heldSinceMs = performance.now();
    }
    const { id } = asked.instrument;
    judged.push(await judge(deps, viewer, asked, known.get(id) ?? nothing, nowMs));
  }
  // Boards, courses, outlooks, notices and what the pages show are kept together, or none of them is.
  const writing = db.transaction().execute(async (trx) => {
    const open = await openEpisodes(trx, viewer, ids);
    const written = judged.filter((one) => one.writes);
    await saveBoards(
      trx,
      viewer,
      written.flatMap(({ asked, unwritten }) =>
        unwritten ? [{ instrumentId: asked.instrument.id, step: unwritten.board }] : [],
      ),
    );
    await saveCourses(
      trx,
      viewer,
      written.flatMap(({ asked, verdict }) =>
        verdict ? [{ instrumentId: asked.instrument.id, course: verdict.course }] : [],
      ),
      written.flatMap(({ taken, unwritten }) => unwritten?.days ?? taken?.days ?? []),
    );
    for (const { asked, outlook, renewed } of judged) {
      if (renewed && outlook) await saveOutlook(trx, viewer, asked.instrument.id, outlook);
    }
    const decided = judged.flatMap(({ asked: { instrument }, verdict }) =>
      verdict && (verdict.holds || open.has(instrument.id))
        ? [{ subject: subjectOf(instrument), decisions: verdict.decisions() }]
        : [],
    );
    const news = await applyDecisions(trx, viewer, decided, open, nowMs);
    await saveStandings(trx, viewer, judged, deps, open.size > 0 || news.size > 0, nowMs);
    return news.size > 0;
  });
  const changed = await writing.catch((error: unknown) => {
    // Boards made anew were written already.
    deps.lastKnown.forget(ids);
    throw error;
  });
  for (const { asked, taken, verdict, outlook, before, unwritten, writes } of judged) {
    const { id } = asked.instrument;
    if (!taken || !verdict) {
      deps.lastKnown.forget([id]);
      continue;
    }
    const { course } = verdict;
    const known = { board: taken.state, course, outlook };
    // A board that was made anew was written on the way.
    const rows = { boardMs: taken.state.atMs, courseMs: course.atMs, conditions: course.conditions };
    if (writes) deps.lastKnown.keep(id, { ...known, rows, unwritten: null });
    else deps.lastKnown.keep(id, { ...known, rows: before.rows, unwritten });
  }
  return changed;
}

const nothing: Known = {
  board: undefined,
  course: undefined,
  outlook: null,
  rows: { boardMs: undefined, courseMs: undefined, conditions: undefined },
  unwritten: null,
};

const subjectOf = (instrument: PlacedInstrument) => ({
  id: instrument.id,
  instrumentId: instrument.id,
  sensorId: null,
  venueId: instrument.venueId,
  place: placeOf(instrument),
});

async function judge(
  deps: BatchDeps,
  viewer: Viewer,
  asked: Asked,
  before: Known,
  nowMs: number,
): Promise<Judged> {
  const { instrument, changedFromMs } = asked;
  const sources = deps.facts.sourcesOf(instrument);
  const settings = deps.facts.settingsFor(instrument);
  const untilMs = heardUntil(deps, instrument, nowMs);
  const { board, course } = before;
  let watched: Watched = { instrument, settings, outlook: before.outlook };
  let taken: Taken | null = null;
  let unwritten = before.unwritten;
  let anew = false;
  const late = board !== undefined && changedFromMs !== null && changedFromMs < board.atMs;
  if (untilMs !== null) {
    if (board && course && course.atMs === board.atMs && !late && untilMs - board.atMs <= longestStepMs) {
      taken =
        untilMs > board.atMs
          ? await takeOn(deps, viewer, watched, sources, board, course, untilMs)
          : { course, step: null, state: board, days: [] };
      unwritten = unwrittenAfter(unwritten, taken);
    } else {
      anew = true;
      unwritten = null;
      const fromMs = late ? changedFromMs : null;
      taken = await takeAnew(deps, viewer, watched, sources, fromMs, Math.max(untilMs, board?.atMs ?? 0));
    }
  }
  const renewed = asked.renew || before.outlook === null;
  if (renewed) {
    const state = taken?.state ?? null;
    const outlook = await gatherOutlook(deps, viewer, { instrument, sources, settings, board: state }, nowMs);
    watched = { ...watched, outlook };
  }
  const verdict =
    taken && decide(watched, taken.course, { distrust: distrustOf(deps, instrument), late }, nowMs);
  const writes = verdict !== null && (anew || isToBeWritten(instrument.id, before.rows, verdict.course));
  return { asked, taken, outlook: watched.outlook, renewed, verdict, before, unwritten, writes };
}

/** End of the last whole hour of which anything was heard, or may still be; null: nothing ever was. */
function heardUntil(
  { facts, lastMs }: BatchDeps,
  instrument: PlacedInstrument,
  nowMs: number,
): number | null {
  const { room, inside } = facts.sourcesOf(instrument);
  let last = Number.NEGATIVE_INFINITY;
  for (const placed of [...room, ...inside]) {
    const heardMs = lastMs.get(placed.sensorId);
    if (heardMs === undefined || heardMs < placed.fromMs) continue;
    last = Math.max(last, Math.min(heardMs, placed.untilMs ?? heardMs));
  }
  return last === Number.NEGATIVE_INFINITY
    ? null
    : Math.min(hourFloor(nowMs - graceMs), hourFloor(last) + hourMs);
}

/** A sensor in or at the instrument that is stuck or off: nothing is made of what it says. */
function distrustOf({ facts, distrusted }: BatchDeps, instrument: PlacedInstrument): string | null {
  if (distrusted.size === 0) return null;
  const { room, inside } = facts.sourcesOf(instrument);
  // The rules look at the inside where there is one; the room's sensor then matters to the board's top alone.
  const placed = inside.length > 0 ? inside : room;
  for (const { sensorId } of placed) {
    const because = distrusted.get(sensorId);
    if (because !== undefined) return because;
  }
  return null;
}
