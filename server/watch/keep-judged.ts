/** Writes what was judged of some hundreds of instruments: of each all of it at once, or nothing. */
import { setImmediate as breathe } from 'node:timers/promises';
import type { Database } from '../db/database.ts';
import { type PlacedInstrument, placeOf } from '../registry/instruments.ts';
import type { Viewer } from '../registry/viewer.ts';
import { saveBoards } from '../series/boards.ts';
import { saveCourses, type Taken } from './courses.ts';
import { unmeasured, type Verdict } from './decide.ts';
import type { Known, LastKnown, Unwritten } from './last-known.ts';
import { applyDecisions, openEpisodes } from './notices.ts';
import type { Outlook } from './outlook.ts';
import { saveOutlook } from './outlook-store.ts';
import type { RegistryFacts } from './registry-facts.ts';
import { isShown, saveStandings } from './standings.ts';

/** Instruments to a transaction. */
const atOnce = 200;

export interface Judged {
  readonly instrument: PlacedInstrument;
  readonly before: Known;
  readonly taken: Taken | null;
  readonly outlook: Outlook | null;
  readonly renewed: boolean;
  readonly verdict: Verdict | null;
  /** Hours taken in since the rows were written, and whether they are to be now. */
  readonly unwritten: Unwritten | null;
  readonly writes: boolean;
}

export interface KeepDeps {
  readonly db: Database;
  readonly facts: RegistryFacts;
  /** What was last shown of each instrument, so that the same is not written again. */
  readonly shown: Map<string, string>;
  readonly lastKnown: LastKnown;
}

type Open = Awaited<ReturnType<typeof openEpisodes>>;

export interface Keeper {
  /** Takes what was judged: of most there is nothing to write, and the rest waits until there is enough for a commit. */
  take(judged: readonly Judged[]): Promise<void>;
  /** Writes what still waits. @returns whether any notice began, ended or changed. */
  finish(): Promise<boolean>;
}

export function keeper(deps: KeepDeps, viewer: Viewer, nowMs: number): Keeper {
  const waiting: Judged[] = [];
  const open: Open = new Map();
  let changed = false;

  async function writeSome(): Promise<void> {
    const some = waiting.splice(0, atOnce);
    try {
      const writing = deps.db.transaction().execute((trx) => write(trx, deps, viewer, some, open, nowMs));
      changed = (await writing) || changed;
    } catch (error) {
      // Boards made anew were written on the way, and what is shown was noted.
      const ids = [...some, ...waiting].map((one) => one.instrument.id);
      deps.lastKnown.forget(ids);
      for (const id of ids) deps.shown.delete(id);
      throw error;
    }
    for (const one of some) remember(deps.lastKnown, one);
    await breathe();
  }

  return {
    async take(judged) {
      const ids = judged.map((one) => one.instrument.id);
      // The watch alone opens and closes them, one look after another.
      for (const [id, episodes] of await openEpisodes(deps.db, viewer, ids)) open.set(id, episodes);
      for (const one of judged) {
        const { id } = one.instrument;
        const news = one.writes || one.renewed || one.verdict?.holds || open.has(id);
        if (news || !isShown(one, deps.facts, deps.shown)) waiting.push(one);
        else remember(deps.lastKnown, one);
      }
      while (waiting.length >= atOnce) await writeSome();
    },
    async finish() {
      while (waiting.length > 0) await writeSome();
      return changed;
    },
  };
}

async function write(
  trx: Database,
  { facts, shown }: KeepDeps,
  viewer: Viewer,
  some: readonly Judged[],
  open: Open,
  nowMs: number,
): Promise<boolean> {
  const written = some.filter((one) => one.writes);
  await saveBoards(
    trx,
    viewer,
    written.flatMap(({ instrument, unwritten }) =>
      unwritten ? [{ instrumentId: instrument.id, step: unwritten.board }] : [],
    ),
  );
  await saveCourses(
    trx,
    viewer,
    written.flatMap(({ instrument, verdict }) =>
      verdict ? [{ instrumentId: instrument.id, course: verdict.course }] : [],
    ),
    written.flatMap(({ taken, unwritten }) => unwritten?.days ?? taken?.days ?? []),
  );
  for (const { instrument, outlook, renewed } of some) {
    if (renewed && outlook) await saveOutlook(trx, viewer, instrument.id, outlook);
  }
  const decided = some.flatMap(({ instrument, verdict }) =>
    verdict?.holds || open.has(instrument.id)
      ? [{ subject: subjectOf(instrument), decisions: verdict?.decisions() ?? unmeasured }]
      : [],
  );
  const news = await applyDecisions(trx, viewer, decided, open, nowMs);
  await saveStandings(trx, viewer, some, facts, shown, nowMs);
  return news.size > 0;
}

const subjectOf = (instrument: PlacedInstrument) => ({
  id: instrument.id,
  instrumentId: instrument.id,
  sensorId: null,
  venueId: instrument.venueId,
  place: placeOf(instrument),
});

function remember(lastKnown: LastKnown, judged: Judged): void {
  const { instrument, before, taken, verdict, outlook } = judged;
  if (!taken || !verdict) {
    lastKnown.forget([instrument.id]);
    return;
  }
  const { state: board } = taken;
  const { course } = verdict;
  // A board that was made anew was written on the way.
  const rows = judged.writes
    ? { boardMs: board.atMs, courseMs: course.atMs, conditions: course.conditions }
    : before.rows;
  const unwritten = judged.writes ? null : judged.unwritten;
  lastKnown.keep(instrument.id, { board, course, outlook, rows, unwritten });
}
