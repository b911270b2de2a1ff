/** From an instrument's visits and its board to the intervals that drift is learned from, with why others are not. */
import type { PitchTaken, Register, Visit } from '../contract/index.ts';
import { registers } from '../contract/index.ts';
import type { PlacedInstrument } from '../registry/instruments.ts';
import { moves } from '../registry/moves.ts';
import type { Viewer } from '../registry/viewer.ts';
import {
  type DriftObservation,
  type Exclusion,
  lagGridDays,
  type MoistureCourse,
  type Move,
  observationsOf,
  overallSpread,
  type PitchVisit,
  type SpreadChange,
  type SpreadObservation,
  type SpreadReading,
  spreadChangeOf,
} from '../science/drift/index.ts';
import { usualWeights } from '../science/drift/lags.ts';
import { refuseClimate } from '../science/drift/observations-of.ts';
import { registerOffsets } from '../science/index.ts';
import { type BoardDeps, boardHours } from '../series/board.ts';
import { type BoardHours, hourAt } from '../series/board-run.ts';
import { type ClimateSources, climateSources, hourMs } from '../series/climate.ts';
import { isTuning, visitsOf } from '../visits/visits.ts';

export interface Intervals {
  readonly observations: DriftObservation[];
  readonly excluded: Exclusion[];
  /** How wide unisons were found after what the board did since they were tuned. */
  readonly spreads: SpreadObservation[];
  /** Humidity read by hand at both ends of each observation, for the rival that goes by it. */
  readonly spotHumidityPct: { readonly from: number | null; readonly to: number | null }[];
}

/** How the model calls an instrument. */
export const driftInstrument = ({ id, kind, board }: PlacedInstrument) => ({
  id,
  kind,
  finish: board.finish,
});

const noIntervals: Intervals = { observations: [], excluded: [], spreads: [], spotHumidityPct: [] };

export async function intervalsOf(
  deps: BoardDeps,
  viewer: Viewer,
  instrument: PlacedInstrument,
  nowMs: number,
): Promise<Intervals> {
  const visits = (await visitsOf(deps.db, viewer, instrument.id)).toReversed();
  const [first] = visits;
  if (!first) return noIntervals;
  const sources = await climateSources(deps.db, viewer, instrument);
  const hours = await boardHours(deps, viewer, instrument, sources, first.atMs - hourMs, nowMs);
  if (!hours) return noIntervals;
  const pitchVisits = visits.map((visit) => pitchVisit(visit, instrument.pitchStandardHz));
  const gone = (await moves(deps.db, viewer, instrument.id)).map(({ atMs }) => moveOf(atMs, sources));
  const plateC = (atMs: number) => hours.plateC[hourAt(hours, atMs) ?? -1] ?? null;
  const course = courseOf(hours);
  const found = observationsOf(driftInstrument(instrument), pitchVisits, course, gone, plateC);
  const spotAt = (atMs: number) =>
    visits.find((visit) => visit.atMs === atMs)?.conditions.humidityPct ?? null;
  return {
    ...found,
    spreads: spreadsOf(instrument, visits, course, gone),
    spotHumidityPct: found.observations.map(({ fromMs, toMs }) => ({
      from: spotAt(fromMs),
      to: spotAt(toMs),
    })),
  };
}

/** A sensor inside went along when the same one speaks before and after; those of the rooms never do. */
const moveOf = (atMs: number, sources: ClimateSources): Move => ({
  atMs,
  sensorWentAlong: sources.inside.some(
    (one) => one.fromMs < atMs && (one.untilMs ?? Number.POSITIVE_INFINITY) > atMs,
  ),
});

/** How many unisons stand behind a spread where nobody counted them: over the whole piano, and in one register (proposals). */
const usuallySampled = 12;
const usuallySampledOfRegister = 4;

/** What a visit says of the unisons: register by register where that was written, else the one number of the piano. */
export function unisonsRead(visit: Visit, side: 'found' | 'left'): SpreadReading | null {
  const [samples, whole] =
    side === 'found'
      ? [visit.unisonsFound, visit.unisonsFoundCents]
      : [visit.unisonsLeft, visit.unisonsLeftCents];
  const byRegister: Partial<Record<Register, SpreadReading>> = {};
  for (const { register, keys, sampled, cents, word } of samples ?? []) {
    const count = sampled ?? (keys.length > 0 ? keys.length : usuallySampledOfRegister);
    if (cents !== null) byRegister[register] = { cents, sampled: count };
    else if (word !== null) byRegister[register] = { word };
  }
  return overallSpread(byRegister) ?? (whole === null ? null : { cents: whole, sampled: usuallySampled });
}

/** A tuning just made: nothing has happened to its unisons yet. */
const nothingSince: SpreadChange = { netPct: 0, rangePct: 0, years: 0 };

/**
 * From each tuning to the next visit at which unisons were looked at; and how each tuning left them, since what long intervals
 * alone cannot tell from drift would else be taken for how tunings are left, and every piano be out the moment it was tuned.
 * Where too little is known of the air between, nothing is learned, as of pitch.
 */
function spreadsOf(
  instrument: PlacedInstrument,
  visits: readonly Visit[],
  course: MoistureCourse,
  gone: readonly Move[],
): SpreadObservation[] {
  // Before anything is learned of its lag: what is usual for its finish.
  const weights = usualWeights(lagGridDays, instrument.board.finish);
  const spreads: SpreadObservation[] = [];
  let tuned: Visit | null = null;
  for (const visit of visits) {
    const change =
      tuned && refuseClimate(course, gone, tuned.atMs, visit.atMs) === null
        ? spreadChangeOf(course, weights, tuned.atMs, visit.atMs)
        : null;
    const found = unisonsRead(visit, 'found');
    if (change && found) spreads.push({ instrument: instrument.id, ...change, reading: found });
    if (isTuning(visit)) {
      tuned = visit;
      const left = unisonsRead(visit, 'left');
      if (left) spreads.push({ instrument: instrument.id, ...nothingSince, reading: left });
    } else if (visit.stringWork) tuned = null;
  }
  return spreads;
}

/** The hourly course as the model takes it. */
export function courseOf(hours: BoardHours): MoistureCourse {
  return {
    startMs: hours.fromMs,
    stepMs: hourMs,
    lagDays: lagGridDays,
    meanPct: hours.lagPct.map((lag) => Float64Array.from(lag)),
    missing: Uint8Array.from(hours.heldHours, (held) => (held > 0 ? 1 : 0)),
    end: [],
  };
}

/** A visit as the model sees it. */
export function pitchVisit(visit: Visit, standardHz: number): PitchVisit {
  return {
    atMs: visit.atMs,
    asFound: offsets(visit.asFound, standardHz) ?? {},
    asLeft: offsets(visit.asLeft, standardHz),
    onlyA4: [visit.asFound, visit.asLeft].some(onlyA4),
    temperatureC: visit.conditions.temperatureC,
    stringWork: visit.stringWork,
  };
}

const onlyA4 = (taken: PitchTaken | null): boolean =>
  taken !== null && taken.a4 !== null && registers.every((register) => taken[register] === null);

function offsets(taken: PitchTaken | null, standardHz: number): Partial<Record<Register, number>> | null {
  if (!taken) return null;
  const known = Object.entries(registerOffsets({ standardHz, ...taken })).filter(
    ([, cents]) => cents !== null,
  );
  return known.length === 0 ? null : Object.fromEntries(known);
}
