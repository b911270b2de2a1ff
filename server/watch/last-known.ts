/**
 * What the watch last knew of each instrument, held in memory between looks: reading, packing and writing the states of
 * a fleet costs more than an hour's step of them. The rows lead: what is held, which may be some hours ahead of them,
 * counts only while they are what it was taken on from.
 */
import { among } from '../db/among.ts';
import { type Database, writesOfOthers } from '../db/database.ts';
import { slotOfDayMs } from '../drift/forecast-times.ts';
import { keepEveryMs } from '../series/board.ts';
import type { BoardState } from '../series/board-run.ts';
import { afterOneAnother, type BoardSteps, loadBoards } from '../series/boards.ts';
import type { Course } from './course.ts';
import { type CourseDay, loadCourses, type Taken } from './courses.ts';
import type { Outlook } from './outlook.ts';
import { loadOutlooks } from './outlook-store.ts';

export interface Known {
  readonly board: BoardState | undefined;
  readonly course: Course | undefined;
  readonly outlook: Outlook | null;
  readonly rows: Rows;
  /** Hours taken in since the rows were written; null: none. */
  readonly unwritten: Unwritten | null;
}

/** What the rows say. */
export interface Rows {
  readonly boardMs: number | undefined;
  readonly courseMs: number | undefined;
  readonly conditions: Course['conditions'] | undefined;
}

export interface Unwritten {
  readonly board: BoardSteps;
  readonly days: readonly CourseDay[];
}

/** What is to be written once these hours are. */
export const unwrittenAfter = (before: Unwritten | null, { step, days }: Taken): Unwritten | null =>
  step === null
    ? before
    : { board: afterOneAnother(before?.board ?? null, step), days: [...(before?.days ?? []), ...days] };

/**
 * Is it this instrument's turn to be written? Each has an hour of its own, so that a fleet's are spread. A changed
 * condition is written at once: from it and the rows of readings, a restart comes to the same.
 */
export function isToBeWritten(instrumentId: string, { courseMs, conditions }: Rows, now: Course): boolean {
  if (courseMs === undefined || conditions !== now.conditions) return true;
  const turn = (timeMs: number) => Math.floor((timeMs + slotOfDayMs(instrumentId)) / keepEveryMs);
  return turn(now.atMs) !== turn(courseMs);
}

export interface LastKnown {
  /** As the rows have it, or taken on from them. */
  load(db: Database, ids: readonly string[]): Promise<Map<string, Known>>;
  /** After a commit: what was written. */
  keep(id: string, known: Known): void;
  /** Something else may have changed it. */
  forget(ids: readonly string[]): void;
}

export function lastKnown(): LastKnown {
  const held = new Map<string, Known>();
  /** Those compared with their rows since another process last wrote; only then may the rows have moved unseen. */
  let compared = new Set<string>();
  let writes = -1;
  return {
    async load(db, ids) {
      const now = await writesOfOthers(db);
      if (now !== writes) [writes, compared] = [now, new Set()];
      const open = ids.filter((id) => !compared.has(id) || !held.has(id));
      if (open.length > 0) await compare(db, open);
      return new Map(ids.flatMap((id) => [[id, held.get(id)] as const]).filter(isKnown));
    },
    keep(id, known) {
      held.set(id, known);
    },
    forget(ids) {
      for (const id of ids) held.delete(id);
    },
  };

  async function compare(db: Database, ids: readonly string[]): Promise<void> {
    const stamps = await stampsOf(db, ids);
    const isCurrent = (id: string): boolean => {
      const known = held.get(id);
      const stamp = stamps.get(id);
      return (
        known !== undefined &&
        stamp !== undefined &&
        known.rows.boardMs === stamp.boardMs &&
        known.rows.courseMs === stamp.courseMs &&
        known.outlook?.madeMs === stamp.outlookMs
      );
    };
    const missing = ids.filter((id) => !isCurrent(id));
    if (missing.length > 0) {
      const boards = await loadBoards(db, missing);
      const courses = await loadCourses(db, missing);
      const outlooks = await loadOutlooks(db, missing);
      for (const id of missing) {
        const [board, course] = [boards.get(id), courses.get(id)];
        const rows = { boardMs: board?.atMs, courseMs: course?.atMs, conditions: course?.conditions };
        held.set(id, { board, course, outlook: outlooks.get(id) ?? null, rows, unwritten: null });
      }
    }
    for (const id of ids) compared.add(id);
  }
}

const isKnown = (entry: readonly [string, Known | undefined]): entry is readonly [string, Known] =>
  entry[1] !== undefined;

interface Stamp {
  readonly boardMs: number | undefined;
  readonly courseMs: number | undefined;
  readonly outlookMs: number | undefined;
}

async function stampsOf(db: Database, ids: readonly string[]): Promise<Map<string, Stamp>> {
  const rows = await db
    .selectFrom('board_state as board')
    .leftJoin('watch_state as course', 'course.instrument_id', 'board.instrument_id')
    .leftJoin('outlook', 'outlook.instrument_id', 'board.instrument_id')
    .select(['board.instrument_id', 'board.hour_ms as boardMs', 'course.hour_ms as courseMs'])
    .select('outlook.made_ms as outlookMs')
    .where('board.instrument_id', 'in', among(ids))
    .execute();
  return new Map(
    rows.map(({ instrument_id, boardMs, courseMs, outlookMs }) => [
      instrument_id,
      { boardMs, courseMs: courseMs ?? undefined, outlookMs: outlookMs ?? undefined },
    ]),
  );
}
