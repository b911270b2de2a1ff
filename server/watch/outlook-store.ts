/** Gathers what the daily look needs of one instrument from the stores, and keeps what it says. */
import type { Settings } from '../contract/index.ts';
import type { Database } from '../db/database.ts';
import { anchorsOf, heardFromMs } from '../drift/anchors.ts';
import { controlStandingOf } from '../drift/control.ts';
import { keptForecast } from '../drift/forecasting.ts';
import { driftOf } from '../drift/learned.ts';
import { anchorAt } from '../drift/pitch-course.ts';
import { eventsOf } from '../registry/events.ts';
import { humidityControl } from '../registry/humidity-controls.ts';
import type { PlacedInstrument } from '../registry/instruments.ts';
import type { Viewer } from '../registry/viewer.ts';
import { type BoardDeps, boardHours } from '../series/board.ts';
import { type BoardState, dayMs, facesOf } from '../series/board-run.ts';
import { type ClimateSources, climateOf, hourMs } from '../series/climate.ts';
import { isTuning, visitsOf } from '../visits/visits.ts';
import { lookAhead, type Outlook, outlook } from './outlook.ts';

/** The least history: what an event's steadiness is judged by. */
const leastHistoryMs = 31 * dayMs;
const weekMs = 7 * dayMs;

export interface OutlookNeeds {
  readonly instrument: PlacedInstrument;
  readonly sources: ClimateSources;
  readonly settings: Settings;
  readonly board: BoardState | null;
}

export async function gatherOutlook(
  deps: BoardDeps,
  viewer: Viewer,
  { instrument, sources, settings, board }: OutlookNeeds,
  nowMs: number,
): Promise<Outlook> {
  const { db, store } = deps;
  const visits = (await visitsOf(db, viewer, instrument.id)).filter((visit) => visit.atMs <= nowMs);
  const anchor = anchorAt(anchorsOf(visits, instrument.pitchStandardHz), nowMs);
  const untilMs = board?.atMs ?? nowMs;
  const heardMs = anchor ? heardFromMs(anchor) : untilMs;
  // Unisons go on from the tuning, whatever was read of the pitch since.
  const tunedMs = visits.find(isTuning)?.atMs ?? untilMs;
  const fromMs = Math.min(untilMs - leastHistoryMs, heardMs, tunedMs);
  const history = board && (await boardHours(deps, viewer, instrument, sources, fromMs, untilMs));
  const week = await climateOf(store, viewer, sources, untilMs - weekMs, untilMs, hourMs);
  const control = await humidityControl(db, viewer, instrument.id, nowMs);
  return lookAhead(
    {
      instrument,
      drift: await driftOf(db, viewer, instrument),
      visits,
      history,
      slab: board?.slab ?? null,
      forecast: await keptForecast(db, viewer, instrument.id, nowMs),
      week: facesOf(week),
      control: control && (await controlStandingOf(deps, viewer, sources, control, nowMs)),
      events: await eventsOf(db, viewer, { instrumentId: instrument.id, fromMs: nowMs }),
      settings,
    },
    nowMs,
  );
}

export async function loadOutlooks(db: Database, ids: readonly string[]): Promise<Map<string, Outlook>> {
  const rows = await db
    .selectFrom('outlook')
    .select(['instrument_id', 'body'])
    .where('instrument_id', 'in', ids)
    .execute();
  // Written by this program: a row of another form is made anew by the next daily look.
  const parsed = rows.map((row) => [row.instrument_id, outlook.safeParse(JSON.parse(row.body))] as const);
  return new Map(parsed.flatMap(([key, result]) => (result.success ? [[key, result.data]] : [])));
}

export async function saveOutlook(
  db: Database,
  viewer: Viewer,
  instrumentId: string,
  body: Outlook,
): Promise<void> {
  const row = { made_ms: body.madeMs, body: JSON.stringify(body) };
  await db
    .insertInto('outlook')
    .values({ instrument_id: instrumentId, organisation_id: viewer.organisationId, ...row })
    .onConflict((conflict) => conflict.column('instrument_id').doUpdateSet(row))
    .execute();
}
