/** Many boards at once: the hourly step of a whole fleet reads and writes some hundreds of states in one go. */
import { sql } from 'kysely';
import type { Database } from '../db/database.ts';
import type { Viewer } from '../registry/viewer.ts';
import { thinCheckpoints } from './board.ts';
import { type BoardCourse, type BoardState, dayMs, readBoard, takeIn } from './board-run.ts';
import { hourMs, type InstrumentClimate } from './climate.ts';

export async function loadBoards(db: Database, ids: readonly string[]): Promise<Map<string, BoardState>> {
  const rows = await db
    .selectFrom('board_state')
    .select(['instrument_id', 'state'])
    .where('instrument_id', 'in', ids)
    .execute();
  return new Map(rows.map((row) => [row.instrument_id, readBoard(row.state)]));
}

interface DaySum {
  readonly day: number;
  /** Hours of the day that were taken in before. */
  readonly hours: number;
  /** State at the start of the day; null where some of it was taken in before. */
  readonly checkpoint: BoardState | null;
  readonly sum: number;
  readonly count: number;
}

/** A board taken on, with what is to be kept of the days between. */
export interface BoardSteps {
  readonly state: BoardState;
  readonly days: readonly DaySum[];
}

/** A board taken on by newer hours; `climate` begins where the state ends. */
export function stepBoard(state: BoardState, climate: InstrumentClimate): BoardSteps & BoardCourse {
  const days: DaySum[] = [];
  const taken = takeIn(state, climate, (day, before, means) => {
    const hours = Math.round((before.atMs - Math.max(day * dayMs, before.startMs)) / hourMs);
    let sum = 0;
    for (const mean of means) sum += mean;
    days.push({ day, hours, checkpoint: hours > 0 ? null : before, sum, count: means.length });
  });
  return { ...taken, days };
}

/** Steps that follow one another, as one. */
export function afterOneAnother(before: BoardSteps | null, { state, days }: BoardSteps): BoardSteps {
  const last = before?.days.at(-1);
  const [first, ...later] = days;
  if (!before || !last || first?.day !== last.day) return { state, days: [...(before?.days ?? []), ...days] };
  const joined = { ...last, sum: last.sum + first.sum, count: last.count + first.count };
  return { state, days: [...before.days.slice(0, -1), joined, ...later] };
}

/** Keeps what `stepBoard` made. Call inside a transaction. */
export async function saveBoards(
  db: Database,
  viewer: Viewer,
  steps: readonly { readonly instrumentId: string; readonly step: BoardSteps }[],
): Promise<void> {
  if (steps.length === 0) return;
  const organisation_id = viewer.organisationId;
  const begun: { id: string; day: number; hours: number; sum: number; count: number }[] = [];
  const fresh = [];
  for (const { instrumentId, step } of steps) {
    for (const { checkpoint, day, hours, sum, count } of step.days) {
      if (checkpoint === null) begun.push({ id: instrumentId, day, hours, sum, count });
      else {
        fresh.push({
          instrument_id: instrumentId,
          organisation_id,
          day,
          mean_pct: sum / count,
          checkpoint: JSON.stringify(checkpoint),
        });
      }
    }
  }
  if (begun.length > 0) {
    // A day begun earlier keeps its checkpoint; its mean so far is weighed in with the hours that came since.
    const values = sql.join(
      begun.map((one) => sql`(${one.id}, ${one.day}, ${one.hours}, ${one.sum}, ${one.count})`),
    );
    await sql`WITH news(id, day, hours, total, count) AS (VALUES ${values})
      UPDATE board_day SET mean_pct = (mean_pct * news.hours + news.total) / (news.hours + news.count)
      FROM news WHERE board_day.instrument_id = news.id AND board_day.day = news.day`.execute(db);
  }
  for (let i = 0; i < fresh.length; i += 200) {
    const rows = fresh.slice(i, i + 200);
    await db
      .insertInto('board_day')
      .values(rows)
      .onConflict((conflict) =>
        conflict.columns(['instrument_id', 'day']).doUpdateSet((eb) => ({
          mean_pct: eb.ref('excluded.mean_pct'),
          checkpoint: eb.ref('excluded.checkpoint'),
        })),
      )
      .execute();
  }
  if (fresh.length > 0) {
    const ids = fresh.map((one) => one.instrument_id);
    await thinCheckpoints(db, [...new Set(ids)], Math.max(...fresh.map((one) => one.day)));
  }
  await db
    .insertInto('board_state')
    .values(
      steps.map(({ instrumentId, step }) => ({
        instrument_id: instrumentId,
        organisation_id,
        hour_ms: step.state.atMs,
        state: JSON.stringify(step.state),
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
