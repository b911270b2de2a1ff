/** Judges some hundreds of instruments at a time: reads what they need and asks the rules. */
import { setImmediate as breathe } from 'node:timers/promises';
import type { PlacedInstrument } from '../registry/instruments.ts';
import type { Viewer } from '../registry/viewer.ts';
import type { BoardDeps } from '../series/board.ts';
import { hourFloor, hourMs } from '../series/climate.ts';
import { longestStepMs, type Taken, takeAnew, takeOn } from './courses.ts';
import { decide } from './decide.ts';
import type { Watched } from './fold.ts';
import type { Judged, KeepDeps } from './keep-judged.ts';
import { isToBeWritten, type Known, unwrittenAfter } from './last-known.ts';
import { gatherOutlook } from './outlook-store.ts';

export { type Standing, standings } from './standings.ts';

/** An hour is judged this long after its end: most gateways have sent by then. */
export const graceMs = 5 * 60_000;
/** Others get their turn this often. */
const longestHoldMs = 20;
/** Instruments judged at a time. */
export const batchSize = 200;

export interface Asked {
  readonly instrument: PlacedInstrument;
  /** The earliest time whose air changed since the last evaluation; null: only newer hours. */
  readonly changedFromMs: number | null;
  /** Look a day ahead anew as well: a visit came, a setting changed, or the day has passed. */
  readonly renew: boolean;
}

export interface BatchDeps extends BoardDeps, KeepDeps {
  /** Time of the last reading of a sensor, by its id. */
  lastMs(sensorId: string): number | null;
  /** Sensors that are not to be trusted, by id, with why. */
  readonly distrusted: ReadonlyMap<string, string>;
}

export async function evaluateBatch(
  deps: BatchDeps,
  viewer: Viewer,
  batch: readonly Asked[],
  nowMs: number,
): Promise<Judged[]> {
  const ids = batch.map((one) => one.instrument.id);
  const known = await deps.lastKnown.load(deps.db, ids);
  const judged: Judged[] = [];
  let heldSinceMs = performance.now();
  for (const asked of batch) {
    // A look far back takes tens of milliseconds; others must not wait for hundreds of them.
    if (performance.now() - heldSinceMs > longestHoldMs) {
      await breathe();
      heldSinceMs = performance.now();
    }
    const { id } = asked.instrument;
    judged.push(await judge(deps, viewer, asked, known.get(id) ?? nothing, nowMs));
  }
  return judged;
}

const nothing: Known = {
  board: undefined,
  course: undefined,
  outlook: null,
  rows: { boardMs: undefined, courseMs: undefined, conditions: undefined },
  unwritten: null,
};

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
  return { instrument, before, taken, outlook: watched.outlook, renewed, verdict, unwritten, writes };
}

/** End of the last whole hour of which anything was heard, or may still be; null: nothing ever was. */
function heardUntil(deps: BatchDeps, instrument: PlacedInstrument, nowMs: number): number | null {
  const { room, inside } = deps.facts.sourcesOf(instrument);
  let last = Number.NEGATIVE_INFINITY;
  for (const spot of [room, inside]) {
    for (const placed of spot) {
      const heardMs = deps.lastMs(placed.sensorId);
      if (heardMs === null || heardMs < placed.fromMs) continue;
      last = Math.max(last, Math.min(heardMs, placed.untilMs ?? heardMs));
    }
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
