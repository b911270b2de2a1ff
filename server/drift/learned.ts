/**
 * What was learned of a fleet's drift, kept with its organisation. It changes with a visit, and with air that came late:
 * that instrument's intervals are worked out anew and the fleet fitted again, a matter of milliseconds.
 */
import type { Database } from '../db/database.ts';
import type { PlacedInstrument } from '../registry/instruments.ts';
import { seenBy, type Viewer } from '../registry/viewer.ts';
import {
  type DriftPosterior,
  fitDrift,
  fitSpread,
  type Instrument,
  type SpreadPosterior,
} from '../science/drift/index.ts';
import type { BoardDeps } from '../series/board.ts';
import { driftInstrument, type Intervals, intervalsOf } from './intervals.ts';

/** What a fleet taught: how pitch moves, and how unisons spread. */
export interface Learning {
  readonly fittedMs: number;
  readonly posterior: DriftPosterior;
  readonly spread: SpreadPosterior;
}

/** The same, and how the model calls the instrument it is asked about. */
export interface Drift extends Learning {
  readonly instrument: Instrument;
}

/** What the trade expects before anything was learned. */
const nothingLearned: Learning = {
  fittedMs: 0,
  posterior: fitDrift([], { prior: 'trade' }),
  spread: fitSpread([]),
};

/** Parsing a fleet's posterior for each of its instruments in turn would cost more than using it. */
const parsed = new WeakMap<Database, Map<string, Learning>>();

export async function learnedOf(db: Database, viewer: Viewer): Promise<Learning> {
  const { organisationId } = viewer;
  const row = await db
    .selectFrom('drift_fit')
    .$call(seenBy(viewer, 'drift_fit'))
    .select('fitted_ms')
    .executeTakeFirst();
  if (!row) return nothingLearned;
  const known = parsed.get(db) ?? new Map();
  parsed.set(db, known);
  const before = known.get(organisationId);
  if (before?.fittedMs === row.fitted_ms) return before;
  const full = await db
    .selectFrom('drift_fit')
    .$call(seenBy(viewer, 'drift_fit'))
    .select(['fitted_ms', 'body'])
    .executeTakeFirstOrThrow();
  const learned: Learning = {
    fittedMs: full.fitted_ms,
    ...(JSON.parse(full.body) as Omit<Learning, 'fittedMs'>),
  };
  known.set(organisationId, learned);
  return learned;
}

export async function driftOf(db: Database, viewer: Viewer, instrument: PlacedInstrument): Promise<Drift> {
  return { ...(await learnedOf(db, viewer)), instrument: driftInstrument(instrument) };
}

/** The intervals of every instrument, as last worked out. */
export async function keptIntervals(db: Database, viewer: Viewer): Promise<Map<string, Intervals>> {
  const rows = await db
    .selectFrom('drift_interval')
    .$call(seenBy(viewer, 'drift_interval'))
    .select(['instrument_id', 'body'])
    .execute();
  return new Map(rows.map((row) => [row.instrument_id, JSON.parse(row.body) as Intervals]));
}

/**
 * Works out the intervals of some instruments anew and fits the fleet. Their boards must have been brought up to date.
 * @param breathe is awaited between instruments, so that others get their turn.
 */
export async function learn(
  deps: BoardDeps,
  viewer: Viewer,
  instruments: readonly PlacedInstrument[],
  nowMs: number,
  breathe: () => Promise<void>,
): Promise<void> {
  const { db } = deps;
  const organisation_id = viewer.organisationId;
  for (const instrument of instruments) {
    const body = JSON.stringify(await intervalsOf(deps, viewer, instrument, nowMs));
    await db
      .insertInto('drift_interval')
      .values({ instrument_id: instrument.id, organisation_id, computed_ms: nowMs, body })
      // The time is that of the last change: what rests on intervals that came out the same still holds.
      .onConflict((conflict) =>
        conflict
          .column('instrument_id')
          .doUpdateSet({ computed_ms: nowMs, body })
          .where('drift_interval.body', '<>', body),
      )
      .execute();
    await breathe();
  }
  const all = [...(await keptIntervals(db, viewer)).values()];
  const posterior = fitDrift(
    all.flatMap(({ observations }) => observations),
    { prior: 'trade' },
  );
  const spread = fitSpread(all.flatMap(({ spreads }) => spreads));
  const row = { fitted_ms: nowMs, body: JSON.stringify({ posterior, spread }) };
  await db
    .insertInto('drift_fit')
    .values({ organisation_id, ...row })
    .onConflict((conflict) => conflict.column('organisation_id').doUpdateSet(row))
    .execute();
}

/** Those of whose intervals nothing is kept yet. */
export async function unlearned(
  db: Database,
  viewer: Viewer,
  instruments: readonly PlacedInstrument[],
): Promise<PlacedInstrument[]> {
  const rows = await db
    .selectFrom('drift_interval')
    .$call(seenBy(viewer, 'drift_interval'))
    .select('instrument_id')
    .execute();
  const known = new Set(rows.map((row) => row.instrument_id));
  return instruments.filter((one) => !known.has(one.id));
}
