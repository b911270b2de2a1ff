/**
 * The forecast of an instrument: gathered from the stores, worked out in the thread for long sums, and kept until its next turn
 * of the day or until what it rests on has changed (a visit, what was learned from its own). What other instruments taught
 * meanwhile waits for that turn.
 */
import { setImmediate as breathe } from 'node:timers/promises';
import type { Forecast, Visit } from '../contract/index.ts';
import { forecast as forecastSchema } from '../contract/index.ts';
import type { Database } from '../db/database.ts';
import { eventsOf } from '../registry/events.ts';
import type { PlacedInstrument } from '../registry/instruments.ts';
import { seenBy, type Viewer } from '../registry/viewer.ts';
import { type ForecastInput, lagGridDays, type SinceTuning, sinceTuning } from '../science/drift/index.ts';
import { toleranceFor } from '../science/index.ts';
import { type BoardDeps, boardHours, boardNow } from '../series/board.ts';
import { type BoardHours, dayMs, hourAt, modesByLag } from '../series/board-run.ts';
import { climateSources } from '../series/climate.ts';
import { isTuning, visitsOf } from '../visits/visits.ts';
import { type Anchor, anchorsOf } from './anchors.ts';
import { climateAhead, dailyAirOf } from './daily-air.ts';
import { courseOf } from './intervals.ts';
import { driftOf } from './learned.ts';
import type { Foretold, Thinking } from './thinking.ts';
import { unisonsReadSince } from './unisons-now.ts';

/** Why nothing can be foretold, for a person. */
export type Unforetold = 'no tuning' | 'no climate' | 'tuned before the first reading';

export async function forecastInput(
  deps: BoardDeps,
  viewer: Viewer,
  instrument: PlacedInstrument,
  nowMs: number,
): Promise<ForecastInput | Unforetold> {
  const { db } = deps;
  const sources = await climateSources(db, viewer, instrument);
  const board = await boardNow(deps, viewer, instrument, sources, nowMs);
  if (!board) return 'no climate';
  const visits = (await visitsOf(db, viewer, instrument.id)).filter((visit) => visit.atMs <= nowMs);
  const tuning = visits.find(isTuning);
  const anchor = anchorsOf(visits, instrument.pitchStandardHz).at(-1);
  if (!tuning || !anchor) return 'no tuning';
  const hours = await boardHours(deps, viewer, instrument, sources, tuning.atMs - dayMs, nowMs);
  if (!hours) return 'no climate';
  const since = heardAt(tuning, anchor, hours);
  if (!since) return 'tuned before the first reading';
  const later = visits
    .slice(0, visits.indexOf(tuning))
    .filter((visit) => registersOf(anchor, visit).length > 0)
    .flatMap((visit) => heardAt(visit, anchor, hours) ?? []);
  const read = unisonsReadSince(visits);
  const readFrom = read && heardAt(read.visit, anchor, hours);
  const { posterior, spread, instrument: named } = await driftOf(db, viewer, instrument);
  await breathe();
  const own = await dailyAirOf(deps, viewer, sources, nowMs);
  await breathe();
  return {
    instrument: named,
    drift: posterior,
    spread,
    climate: await climateAhead(deps, viewer, instrument, own, nowMs),
    board: { lagDays: lagGridDays, state: modesByLag(board) },
    since,
    later,
    unisons: read && readFrom && { since: readFrom, cents: read.cents },
    tolerance: toleranceFor(instrument.use),
  };
}

/** The registers that were heard last at a visit. */
const registersOf = (anchor: Anchor, { atMs }: Visit) =>
  Object.entries(anchor.registers).flatMap(([register, one]) =>
    one?.atMs === atMs ? [{ register, ...one }] : [],
  );

/** How they stood then, and what the board did since; null where it is not known so far back. */
function heardAt(visit: Visit, anchor: Anchor, hours: BoardHours): SinceTuning | null {
  const heard = registersOf(anchor, visit);
  const plateC = hours.plateC[hourAt(hours, visit.atMs) ?? hours.plateC.length - 1] ?? null;
  return sinceTuning(courseOf(hours), {
    tunedMs: visit.atMs,
    leftCents: Object.fromEntries(heard.map(({ register, cents }) => [register, cents])),
    temperatureC: visit.conditions.temperatureC ?? plateC ?? hours.plateC.at(-1) ?? 20,
    raiseCents: heard[0]?.raiseCents ?? 0,
    strungMs: heard[0]?.strungMs ?? null,
  });
}

const words: Readonly<Record<Unforetold, string>> = {
  'no tuning': 'No tuning is recorded, so nothing of its pitch can be foretold.',
  'no climate': 'Nothing is known of its climate yet, so nothing can be foretold.',
  'tuned before the first reading':
    'It was tuned before the first reading, so its pitch can be foretold from the next tuning on.',
};

/** A forecast older than this is not used, whatever came between: its turn was missed. */
const staleAfterMs = 2 * dayMs;

/** The kept forecast, for those who only read; null where there is none that still holds. */
export async function keptForecast(
  db: Database,
  viewer: Viewer,
  instrumentId: string,
  nowMs: number,
): Promise<Forecast | null> {
  const kept = await db
    .selectFrom('forecast')
    .$call(seenBy(viewer, 'forecast'))
    .selectAll()
    .where('instrument_id', '=', instrumentId)
    .executeTakeFirst();
  if (!kept || nowMs - kept.made_ms >= staleAfterMs) return null;
  if (kept.rests_on !== (await restsOnOf(db, viewer, instrumentId))) return null;
  // Written by this program: one of another form is made anew.
  const parsed = forecastSchema.safeParse(JSON.parse(kept.body));
  return parsed.success ? parsed.data : null;
}

/** The kept forecast where it still holds, else a new one. */
export async function forecastOf(
  deps: BoardDeps,
  viewer: Viewer,
  thinking: Thinking,
  instrument: PlacedInstrument,
  nowMs: number,
): Promise<Forecast> {
  const kept = await keptForecast(deps.db, viewer, instrument.id, nowMs);
  return kept && nowMs - kept.madeMs < dayMs
    ? kept
    : renewForecast(deps, viewer, thinking, instrument, nowMs);
}

/** Makes a forecast and keeps it. */
export async function renewForecast(
  deps: BoardDeps,
  viewer: Viewer,
  thinking: Thinking,
  instrument: PlacedInstrument,
  nowMs: number,
): Promise<Forecast> {
  // Asked before the sums: a visit that comes meanwhile makes them stale.
  const rests_on = await restsOnOf(deps.db, viewer, instrument.id);
  const made = await makeForecast(deps, viewer, thinking, instrument, nowMs);
  const row = { made_ms: nowMs, rests_on, body: JSON.stringify(made) };
  await deps.db
    .insertInto('forecast')
    .values({ instrument_id: instrument.id, organisation_id: viewer.organisationId, ...row })
    .onConflict((conflict) => conflict.column('instrument_id').doUpdateSet(row))
    .execute();
  return made;
}

/** What was learned from its own visits, and the last of them: when either changes, an older forecast no longer holds. */
async function restsOnOf(db: Database, viewer: Viewer, instrumentId: string): Promise<string> {
  const learned = await db
    .selectFrom('drift_interval')
    .$call(seenBy(viewer, 'drift_interval'))
    .select('computed_ms')
    .where('instrument_id', '=', instrumentId)
    .executeTakeFirst();
  const last = await db
    .selectFrom('visit')
    .$call(seenBy(viewer, 'visit'))
    .select(({ fn }) => fn.max('received_ms').as('receivedMs'))
    .where('instrument_id', '=', instrumentId)
    .executeTakeFirst();
  return `${learned?.computed_ms ?? 0} ${last?.receivedMs ?? 0}`;
}

/** A hall has a concert every night: those of the next weeks are enough. */
const mostEvents = 20;

async function makeForecast(
  deps: BoardDeps,
  viewer: Viewer,
  thinking: Thinking,
  instrument: PlacedInstrument,
  nowMs: number,
): Promise<Forecast> {
  const input = await forecastInput(deps, viewer, instrument, nowMs);
  if (typeof input === 'string') return emptyForecast(words[input], nowMs);
  const events = await eventsOf(deps.db, viewer, { instrumentId: instrument.id, fromMs: nowMs });
  const coming = events.slice(0, mostEvents).map(({ id, startMs }) => ({ id, startMs }));
  const foretold = await thinking.foretell(input, coming);
  return answer(foretold, nowMs);
}

const noFan = { low: [], middle: [], high: [] };
const emptyForecast = (basis: string, nowMs: number): Forecast => ({
  madeMs: nowMs,
  basis,
  timesMs: [],
  humidityPct: noFan,
  moisturePct: noFan,
  registers: [],
  spreadCents: null,
  beyond: [],
  pitchBeyond: [],
  unisonsBeyond: [],
  events: [],
  decision: null,
  wait: null,
});

const round = (values: readonly number[], digits: number): number[] =>
  values.map((value) => Number(value.toFixed(digits)));

function answer({ forecast, decision, wait, events }: Foretold, nowMs: number): Forecast {
  const fan = (one: Foretold['forecast']['humidityPct'], digits: number) => ({
    low: round(one.low, digits),
    middle: round(one.median, digits),
    high: round(one.high, digits),
  });
  return {
    madeMs: nowMs,
    basis: forecast.because,
    timesMs: forecast.timesMs,
    humidityPct: fan(forecast.humidityPct, 1),
    moisturePct: fan(forecast.moisturePct, 2),
    registers: forecast.registers.map(({ register, offsetCents }) => ({
      register,
      offsetCents: fan(offsetCents, 1),
    })),
    spreadCents: fan(forecast.spreadCents, 2),
    beyond: round(forecast.beyond.any, 3),
    pitchBeyond: round(forecast.beyond.pitch, 3),
    unisonsBeyond: round(forecast.beyond.spread, 3),
    events: [...events],
    decision: { advice: decision.advice, asks: [...decision.asks], because: decision.because },
    wait: wait.wait && wait.untilMs !== null ? { untilMs: wait.untilMs, why: wait.because } : null,
  };
}
