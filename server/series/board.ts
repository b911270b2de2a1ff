/**
 * The soundboard's moisture, hour by hour, from the air its two faces saw. The state after the last whole hour is
 * kept, and checkpoints (daily for forty days, then one in thirty), so that a late reading recomputes from the start of
 * its day and not from the beginning of the year.
 */

import { setImmediate as breathe } from 'node:timers/promises';
import { sql } from 'kysely';
import type { TimeSeries } from '../../ingest/index.ts';
import type { Database } from '../db/database.ts';
import type { PlacedInstrument } from '../registry/instruments.ts';
import type { Viewer } from '../registry/viewer.ts';
import {
  type BoardHours,
  type BoardState,
  begin,
  dayMs,
  dayOf,
  facesOf,
  hoursFrom,
  hoursOf,
  joined,
  readBoard,
  takeIn,
} from './board-run.ts';
import {
  type ClimateSources,
  climateOf,
  climateSources,
  firstPlacedMs,
  hourFloor,
  hourMs,
} from './climate.ts';

/** The board begins in equilibrium with its first week: where that changes, it begins anew. */
const firstWeekMs = 7 * dayMs;
/**
 * A state is written anew this often, each in its own hour, and at once where a condition changes: between, it is what
 * the readings say, and nothing is lost with it.
 */
export const keepEveryMs = 12 * hourMs;
/** Hours of air read at a time: enough to be quick, few enough not to hold the process. */
const chunkMs = 60 * dayMs;

export interface BoardDeps {
  readonly db: Database;
  readonly store: TimeSeries;
}

async function keptState(deps: BoardDeps, instrument: PlacedInstrument): Promise<BoardState | null> {
  const row = await deps.db
    .selectFrom('board_state')
    .select('state')
    .where('instrument_id', '=', instrument.id)
    .executeTakeFirst();
  return row ? readBoard(row.state) : null;
}

/** When the air at an instrument was first known; null where it never was. */
export async function boardBegins(deps: BoardDeps, instrument: PlacedInstrument): Promise<number | null> {
  return (await keptState(deps, instrument))?.startMs ?? null;
}

/** The latest state not after a time: what a recomputation from then on starts with. */
async function checkpointBefore(
  deps: BoardDeps,
  instrument: PlacedInstrument,
  timeMs: number,
): Promise<BoardState | null> {
  const row = await deps.db
    .selectFrom('board_day')
    .select('checkpoint')
    .where('instrument_id', '=', instrument.id)
    .where('day', '<=', dayOf(timeMs))
    .where('checkpoint', 'is not', null)
    .orderBy('day', 'desc')
    .executeTakeFirst();
  return row?.checkpoint ? readBoard(row.checkpoint) : null;
}

/**
 * Brings the kept state of one board up to the last whole hour.
 * @param changedFromMs the earliest time whose air changed since the last call; null: nothing but newer hours.
 * @returns null while no air was ever measured at the instrument.
 */
export async function advanceBoard(
  deps: BoardDeps,
  viewer: Viewer,
  instrument: PlacedInstrument,
  nowMs: number,
  changedFromMs: number | null,
): Promise<BoardState | null> {
  const sources = await climateSources(deps.db, viewer, instrument);
  const placedMs = firstPlacedMs(sources);
  const kept = await keptState(deps, instrument);
  const untilMs = hourFloor(nowMs);
  if (placedMs === null) return kept;

  let state = kept;
  if (kept && changedFromMs !== null && changedFromMs < kept.atMs) {
    const beginsAnew = changedFromMs < kept.startMs + firstWeekMs;
    state = beginsAnew ? null : await checkpointBefore(deps, instrument, changedFromMs);
  }
  const restart = state === null;
  const days = new Map<number, { before: BoardState; sum: number; count: number }>();
  const readFrom = state?.atMs ?? hourFloor(placedMs);
  for (let fromMs = readFrom; fromMs < untilMs; fromMs += chunkMs) {
    const toMs = Math.min(untilMs, fromMs + chunkMs);
    const climate = await climateOf(deps.store, viewer, sources, fromMs, toMs, hourMs);
    state ??= begin(instrument, climate);
    if (state === null) continue;
    const taken = takeIn(state, climate, (day, before, means) => {
      const sofar = days.get(day) ?? { before, sum: 0, count: 0 };
      for (const mean of means) sofar.sum += mean;
      days.set(day, { ...sofar, count: sofar.count + means.length });
    });
    state = taken.state;
    if (toMs < untilMs) await breathe();
  }
  if (state === null || state === kept) return state;
  await keep(deps, viewer, instrument, state, days, restart);
  return state;
}

/** Checkpoints are kept for each of the last days, then one in thirty: late readings are seldom older. */
const dailyCheckpoints = 40;
const monthlyCheckpoint = 30;
const keepsCheckpoint = (day: number, state: BoardState): boolean =>
  day >= dayOf(state.atMs) - dailyCheckpoints ||
  day % monthlyCheckpoint === 0 ||
  day === dayOf(state.startMs);

async function keep(
  deps: BoardDeps,
  viewer: Viewer,
  instrument: PlacedInstrument,
  state: BoardState,
  days: ReadonlyMap<number, { before: BoardState; sum: number; count: number }>,
  restart: boolean,
): Promise<void> {
  const owner = { instrument_id: instrument.id, organisation_id: viewer.organisationId };
  const firstDay = Math.min(...days.keys());
  await deps.db.transaction().execute(async (trx) => {
    // A day begun earlier keeps its checkpoint; its mean so far is weighed in with the hours that came since.
    const begun = restart
      ? undefined
      : await trx
          .selectFrom('board_day')
          .selectAll()
          .where('instrument_id', '=', instrument.id)
          .where('day', '=', firstDay)
          .executeTakeFirst();
    await trx
      .deleteFrom('board_day')
      .where('instrument_id', '=', instrument.id)
      .where('day', '>=', restart ? 0 : firstDay)
      .execute();
    const rows = [...days].map(([day, sofar]) => {
      const start = begun?.checkpoint && day === firstDay ? readBoard(begun.checkpoint) : sofar.before;
      const hoursBefore = Math.round((sofar.before.atMs - start.atMs) / hourMs);
      const sum = sofar.sum + (begun?.mean_pct ?? 0) * hoursBefore;
      const kept = keepsCheckpoint(day, state);
      return {
        ...owner,
        day,
        mean_pct: sum / (sofar.count + hoursBefore),
        checkpoint: kept ? JSON.stringify(start) : null,
      };
    });
    for (let i = 0; i < rows.length; i += 200) {
      await trx
        .insertInto('board_day')
        .values(rows.slice(i, i + 200))
        .execute();
    }
    await thinCheckpoints(trx, [instrument.id], dayOf(state.atMs));
    const row = { ...owner, hour_ms: state.atMs, state: JSON.stringify(state) };
    await trx
      .insertInto('board_state')
      .values(row)
      .onConflict((conflict) =>
        conflict.column('instrument_id').doUpdateSet({ hour_ms: row.hour_ms, state: row.state }),
      )
      .execute();
  });
}

/** Days that have grown old: of their checkpoints one in thirty stays, and the first. Call where a new day began. */
export async function thinCheckpoints(db: Database, ids: readonly string[], today: number): Promise<void> {
  await db
    .updateTable('board_day')
    .set({ checkpoint: null })
    .where('instrument_id', 'in', ids)
    .where('day', '<', today - dailyCheckpoints)
    .where('day', '>', today - 2 * dailyCheckpoints)
    .where(sql<number>`day % ${monthlyCheckpoint}`, '<>', 0)
    .where(
      'day',
      '<>',
      sql<number>`(SELECT min(first.day) FROM board_day AS first WHERE first.instrument_id = board_day.instrument_id)`,
    )
    .execute();
}

/** The board as it is now: the kept state, taken on by the hours heard since. */
export async function boardNow(
  deps: BoardDeps,
  viewer: Viewer,
  instrument: PlacedInstrument,
  sources: ClimateSources,
  nowMs: number,
): Promise<BoardState | null> {
  const kept = await keptState(deps, instrument);
  if (!kept) return null;
  const untilMs = await heardUntil(deps, viewer, sources, kept.atMs, hourFloor(nowMs));
  if (untilMs <= kept.atMs) return kept;
  return takeIn(kept, await climateOf(deps.store, viewer, sources, kept.atMs, untilMs, hourMs)).state;
}

/**
 * A state is kept some hours behind the board (`keepEveryMs`): up to where its air was heard since.
 * @returns at most `toMs`; a multiple of hours
 */
async function heardUntil(
  { store }: BoardDeps,
  viewer: Viewer,
  sources: ClimateSources,
  keptMs: number,
  toMs: number,
): Promise<number> {
  const untilMs = Math.min(toMs, keptMs + 2 * keepEveryMs);
  if (untilMs <= keptMs) return untilMs;
  const { top } = facesOf(await climateOf(store, viewer, sources, keptMs, untilMs, hourMs));
  return keptMs + (top.findLastIndex((air) => air.humidityPct !== null) + 1) * hourMs;
}

/**
 * The hourly course of the board in a window, recomputed from the checkpoint of the window's first day.
 * @returns null while nothing is known of the board; `fromMs` may be later than asked where it begins later.
 */
export async function boardHours(
  deps: BoardDeps,
  viewer: Viewer,
  instrument: PlacedInstrument,
  sources: ClimateSources,
  fromMs: number,
  toMs: number,
): Promise<BoardHours | null> {
  const kept = await keptState(deps, instrument);
  if (!kept || kept.startMs >= toMs) return null;
  const start = await checkpointBefore(deps, instrument, Math.max(fromMs, kept.startMs));
  if (!start) return null;
  const untilMs = await heardUntil(deps, viewer, sources, kept.atMs, hourFloor(toMs));
  if (untilMs <= start.atMs) return null;
  let state = start;
  const pieces: BoardHours[] = [];
  while (state.atMs < untilMs) {
    const pieceMs = Math.min(untilMs, state.atMs + chunkMs);
    const climate = await climateOf(deps.store, viewer, sources, state.atMs, pieceMs, hourMs);
    const taken = hoursOf(state, climate);
    pieces.push(taken.hours);
    state = taken.state;
    // A year of it takes longer than others may wait.
    if (state.atMs < untilMs) await breathe();
  }
  return hoursFrom(joined(pieces), hourFloor(fromMs));
}

/** Daily means of a board, one entry a UTC day from `fromDay` on; null where nothing is known. */
export async function boardDays(
  deps: BoardDeps,
  viewer: Viewer,
  instrumentIds: readonly string[],
  endMs: number,
  days: number,
): Promise<Map<string, (number | null)[]>> {
  const lastDay = dayOf(endMs);
  const firstDay = lastDay - days + 1;
  const strips = new Map(instrumentIds.map((id) => [id, new Array<number | null>(days).fill(null)]));
  const rows = await deps.db
    .selectFrom('board_day')
    .select(['instrument_id', 'day', 'mean_pct'])
    .where('organisation_id', '=', viewer.organisationId)
    .where('day', '>=', firstDay)
    .where('day', '<=', lastDay)
    .execute();
  for (const row of rows) {
    const strip = strips.get(row.instrument_id);
    if (strip) strip[row.day - firstDay] = row.mean_pct;
  }
  return strips;
}
