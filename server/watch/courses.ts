/** Where the watch of each instrument stands, kept: loaded, taken on, made anew from a checkpoint, saved. */
import type { Database } from '../db/database.ts';
import type { Viewer } from '../registry/viewer.ts';
import { advanceBoard, type BoardDeps, boardHours } from '../series/board.ts';
import { type BoardState, dayMs, dayOf, facesOf } from '../series/board-run.ts';
import { type BoardSteps, stepBoard } from '../series/boards.ts';
import { type ClimateSources, climateOf, hourMs } from '../series/climate.ts';
import { beginCourse, type Course } from './course.ts';
import { packCourse, unpackCourse } from './course-codec.ts';
import { foldHours, type Watched } from './fold.ts';
import { pinblockFrom, pinblockPastDays } from './pinblock.ts';

/** Daily checkpoints kept. What comes later than that judges the last months anew. */
const checkpointDays = 8;
/** How far back a course begins that is made anew: enough for its longest look back and for slow mould. */
const anewDays = 92;
/** More hours than this at once are folded the long way round, in pieces. */
export const longestStepMs = 14 * dayMs;

export interface CourseDay {
  readonly instrumentId: string;
  readonly day: number;
  readonly course: Course;
}

export interface Taken {
  readonly course: Course;
  /** What is still to be kept of the board; null where it is kept already. */
  readonly step: BoardSteps | null;
  readonly state: BoardState;
  readonly days: readonly CourseDay[];
}

export async function loadCourses(db: Database, ids: readonly string[]): Promise<Map<string, Course>> {
  const rows = await db
    .selectFrom('watch_state')
    .select(['instrument_id', 'state'])
    .where('instrument_id', 'in', ids)
    .execute();
  const courses = new Map<string, Course>();
  for (const row of rows) {
    const course = unpackCourse(row.state);
    if (course) courses.set(row.instrument_id, course);
  }
  return courses;
}

/** The usual way: newer hours only. */
export async function takeOn(
  deps: BoardDeps,
  viewer: Viewer,
  watched: Watched,
  sources: ClimateSources,
  board: BoardState,
  course: Course,
  untilMs: number,
): Promise<Taken> {
  const climate = await climateOf(deps.store, viewer, sources, board.atMs, untilMs, hourMs);
  const step = stepBoard(board, climate);
  const days: CourseDay[] = [];
  const next = foldHours(watched, course, facesOf(climate).underside, step, (day, at) =>
    days.push({ instrumentId: watched.instrument.id, day, course: at }),
  );
  return { course: next, step, state: step.state, days };
}

/** The long way: readings came late, or the course is not known. From the last checkpoint before them. */
export async function takeAnew(
  deps: BoardDeps,
  viewer: Viewer,
  watched: Watched,
  sources: ClimateSources,
  changedFromMs: number | null,
  untilMs: number,
): Promise<Taken | null> {
  const { instrument } = watched;
  const state = await advanceBoard(deps, viewer, instrument, untilMs, changedFromMs);
  if (!state) return null;
  const kept = changedFromMs === null ? null : await checkpointAt(deps.db, instrument.id, changedFromMs);
  const begins = Math.max(state.startMs, Math.ceil((state.atMs - anewDays * dayMs) / hourMs) * hourMs);
  let course =
    kept && kept.atMs >= state.startMs
      ? kept
      : { ...beginCourse(begins), pinblock: await pinblockBefore(deps, viewer, sources, begins) };
  const days: CourseDay[] = [];
  const hours = await boardHours(deps, viewer, instrument, sources, course.atMs, state.atMs);
  if (hours) {
    // A board that begins later than asked: so does the course.
    if (hours.fromMs > course.atMs) course = { ...course, atMs: hours.fromMs };
    const climate = await climateOf(deps.store, viewer, sources, course.atMs, state.atMs, hourMs);
    course = foldHours(watched, course, facesOf(climate).underside, hours, (day, at) =>
      days.push({ instrumentId: instrument.id, day, course: at }),
    );
  }
  return { course, step: null, state, days: days.slice(-checkpointDays) };
}

/** A pinblock remembers longer than the rest of a course: from the days before it. */
async function pinblockBefore({ store }: BoardDeps, viewer: Viewer, sources: ClimateSources, atMs: number) {
  const toMs = dayOf(atMs) * dayMs;
  const past = await climateOf(store, viewer, sources, toMs - pinblockPastDays * dayMs, toMs, dayMs);
  return pinblockFrom(facesOf(past).underside);
}

async function checkpointAt(db: Database, instrumentId: string, timeMs: number): Promise<Course | null> {
  const row = await db
    .selectFrom('watch_day')
    .select('state')
    .where('instrument_id', '=', instrumentId)
    .where('day', '<=', dayOf(timeMs))
    .orderBy('day', 'desc')
    .executeTakeFirst();
  return row ? unpackCourse(row.state) : null;
}

/** Call inside a transaction. */
export async function saveCourses(
  db: Database,
  viewer: Viewer,
  courses: readonly { readonly instrumentId: string; readonly course: Course }[],
  days: readonly CourseDay[],
): Promise<void> {
  if (courses.length > 0) {
    await db
      .insertInto('watch_state')
      .values(
        courses.map(({ instrumentId, course }) => ({
          instrument_id: instrumentId,
          organisation_id: viewer.organisationId,
          hour_ms: course.atMs,
          state: packCourse(course),
        })),
      )
      .onConflict((conflict) =>
        conflict.column('instrument_id').doUpdateSet((eb) => ({
          hour_ms: eb.ref('excluded.hour_ms'),
          state: eb.ref('excluded.state'),
        })),
      )
      .execute();
  }
  for (let i = 0; i < days.length; i += 200) {
    const some = days.slice(i, i + 200);
    await db
      .insertInto('watch_day')
      .values(
        some.map(({ instrumentId, day, course }) => ({
          instrument_id: instrumentId,
          day,
          state: packCourse(course),
        })),
      )
      .onConflict((conflict) =>
        conflict.columns(['instrument_id', 'day']).doUpdateSet((eb) => ({ state: eb.ref('excluded.state') })),
      )
      .execute();
    await db
      .deleteFrom('watch_day')
      .where(
        'instrument_id',
        'in',
        some.map((one) => one.instrumentId),
      )
      .where('day', '<=', Math.max(...some.map((one) => one.day)) - checkpointDays)
      .execute();
  }
}
