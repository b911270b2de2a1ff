/**
 * The forecast of an instrument: gathered from the stores, worked out in the thread for long sums, and kept until a day
 * has passed or what it rests on has changed (a visit, what was learned).
 */
import type { Forecast } from '../contract/index.ts';
import { forecast as forecastSchema } from '../contract/index.ts';
import type { Database } from '../db/database.ts';
import { eventsOf } from '../registry/events.ts';
import type { PlacedInstrument } from '../registry/instruments.ts';
import { seenBy, type Viewer } from '../registry/viewer.ts';
import { type ForecastInput, lagGridDays, sinceTuning } from '../science/drift/index.ts';
import { raiseOf } from '../science/drift/observations-of.ts';
import { toleranceFor } from '../science/index.ts';
import { type BoardDeps, boardHours } from '../series/board.ts';
import { dayMs } from '../series/board-run.ts';
import { loadBoards } from '../series/boards.ts';
import { climateSources, hourMs } from '../series/climate.ts';
import { isTuning, visitsOf } from '../visits/visits.ts';
import { anchorsOf } from './anchors.ts';
import { climateAhead, dailyAirOf } from './daily-air.ts';
import { courseOf, pitchVisit } from './intervals.ts';
import { driftOf } from './learned.ts';
import type { Foretold, Thinking } from './thinking.ts';

/** Why nothing can be foretold, for a person. */
export type Unforetold = 'no tuning' | 'no climate' | 'tuned before the first reading';

export async function forecastInput(
  deps: BoardDeps,
  viewer: Viewer,
  instrument: PlacedInstrument,
  nowMs: number,
): Promise<ForecastInput | Unforetold> {
  const { db } = deps;
  const board = (await loadBoards(db, [instrument.id])).get(instrument.id);
  if (!board) return 'no climate';
  const visits = (await visitsOf(db, viewer, instrument.id)).filter((visit) => visit.atMs <= nowMs);
  const tuning = visits.find(isTuning);
  const [anchor] = anchorsOf(tuning ? [tuning] : [], instrument.pitchStandardHz);
  if (!tuning || !anchor) return 'no tuning';
  const sources = await climateSources(db, viewer, instrument);
  const hours = await boardHours(deps, viewer, instrument, sources, tuning.atMs - hourMs, nowMs);
  if (!hours) return 'no climate';
  const left = Object.entries(anchor.registers).flatMap(([register, one]) =>
    one ? [[register, one.cents]] : [],
  );
  const since = sinceTuning(courseOf(hours), {
    tunedMs: tuning.atMs,
    leftCents: Object.fromEntries(left),
    temperatureC: tuning.conditions.temperatureC ?? hours.plateC[0] ?? board.plateC ?? 20,
    raiseCents: raiseOf(pitchVisit(tuning, instrument.pitchStandardHz)),
    strungMs: visits.find((visit) => visit.stringWork)?.atMs ?? null,
  });
  if (!since) return 'tuned before the first reading';
  const { posterior, spread, instrument: named } = await driftOf(db, viewer, instrument);
  const own = await dailyAirOf(deps, viewer, sources, nowMs);
  return {
    instrument: named,
    drift: posterior,
    spread,
    climate: await climateAhead(deps, viewer, instrument, own, nowMs),
    board: { lagDays: lagGridDays, state: board.lagModes },
    since,
    tolerance: toleranceFor(instrument.use),
  };
}

const words: Readonly<Record<Unforetold, string>> = {
  'no tuning': 'No tuning is recorded, so nothing of its pitch can be foretold.',
  'no climate': 'Nothing is known of its climate yet, so nothing can be foretold.',
  'tuned before the first reading':
    'It was tuned before the first reading, so its pitch can be foretold from the next tuning on.',
};

/** The kept forecast where it still holds, else a new one. */
export async function forecastOf(
  deps: BoardDeps,
  viewer: Viewer,
  thinking: Thinking,
  instrument: PlacedInstrument,
  nowMs: number,
): Promise<Forecast> {
  const restsOn = await restsOnOf(deps.db, viewer, instrument);
  const kept = await deps.db
    .selectFrom('forecast')
    .$call(seenBy(viewer, 'forecast'))
    .selectAll()
    .where('instrument_id', '=', instrument.id)
    .executeTakeFirst();
  if (kept && kept.rests_on === restsOn && nowMs - kept.made_ms < dayMs) {
    return forecastSchema.parse(JSON.parse(kept.body));
  }
  const made = await makeForecast(deps, viewer, thinking, instrument, nowMs);
  const row = { made_ms: nowMs, rests_on: restsOn, body: JSON.stringify(made) };
  await deps.db
    .insertInto('forecast')
    .values({ instrument_id: instrument.id, organisation_id: viewer.organisationId, ...row })
    .onConflict((conflict) => conflict.column('instrument_id').doUpdateSet(row))
    .execute();
  return made;
}

/** What was learned, and the last visit: when either changes, an older forecast no longer holds. */
async function restsOnOf(db: Database, viewer: Viewer, instrument: PlacedInstrument): Promise<string> {
  const { fittedMs } = await driftOf(db, viewer, instrument);
  const last = await db
    .selectFrom('visit')
    .$call(seenBy(viewer, 'visit'))
    .select(({ fn }) => fn.max('received_ms').as('receivedMs'))
    .where('instrument_id', '=', instrument.id)
    .executeTakeFirst();
  return `${fittedMs} ${last?.receivedMs ?? 0}`;
}

async function makeForecast(
  deps: BoardDeps,
  viewer: Viewer,
  thinking: Thinking,
  instrument: PlacedInstrument,
  nowMs: number,
): Promise<Forecast> {
  const input = await forecastInput(deps, viewer, instrument, nowMs);
  if (typeof input === 'string') return emptyForecast(words[input], nowMs);
  const [event] = await eventsOf(deps.db, viewer, { instrumentId: instrument.id, fromMs: nowMs });
  const foretold = await thinking.foretell(input, event?.startMs ?? null);
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
  decision: null,
  wait: null,
});

const round = (values: readonly number[], digits: number): number[] =>
  values.map((value) => Number(value.toFixed(digits)));

function answer({ forecast, decision, wait }: Foretold, nowMs: number): Forecast {
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
    decision: { advice: decision.advice, asks: [...decision.asks], because: decision.because },
    wait: wait.wait && wait.untilMs !== null ? { untilMs: wait.untilMs, why: wait.because } : null,
  };
}
