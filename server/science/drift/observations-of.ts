/** From visits and the board's moisture to what the model may learn from, and why not from the rest. */
import { type MoistureCourse, moistureAt } from './board-lag.ts';
import type { DriftObservation } from './observation.ts';
import { type Instrument, type Register, registers } from './registers.ts';

/** A visit as the model sees it: when, what was found and left, and what happened to the instrument. */
export interface PitchVisit {
  readonly atMs: number;
  /** Offsets by register (cents); empty where nothing was measured. `asLeft` is null where nothing was tuned. */
  readonly asFound: Readonly<Partial<Record<Register, number>>>;
  readonly asLeft: Readonly<Partial<Record<Register, number>>> | null;
  /** True where A4 alone was measured and stands for the middle register. */
  readonly onlyA4: boolean;
  /** At the piano. */
  readonly temperatureC: number | null;
  /** Strings replaced, or a new instrument strung, at this visit. */
  readonly stringWork: boolean;
}

/** A change of place: did a sensor go along, so that the climate it had is known all the way? */
export interface Move {
  readonly atMs: number;
  readonly sensorWentAlong: boolean;
}

export type ExclusionReason =
  | 'string work'
  | 'after a raise'
  | 'moved without a sensor'
  | 'climate missing'
  | 'before the climate was known'
  | 'nothing measured';

export interface Exclusion {
  readonly fromMs: number;
  readonly toMs: number;
  readonly reason: ExclusionReason;
  /** The same in a sentence. */
  readonly because: string;
}

/** A raise (cents) after which strings and structure settle for months in a way that says nothing of moisture. */
const largeRaiseCents = 20;
/** Share of the climate that may be missing. */
const missingShare = 0.2;
/** A raise goes on settling about this long, new strings creep over this many years (proposals). */
const settlingDays = 30;
const creepYears = 0.5;

const msPerDay = 86_400_000;
const msPerYear = 365.25 * msPerDay;

/**
 * @param visits ascending in time
 * @param course the board's moisture from the instrument's own climate
 * @param temperatureAt temperature of the piano's air (°C) at a time, for visits where it was not noted; null where unknown
 */
export function observationsOf(
  instrument: Instrument,
  visits: readonly PitchVisit[],
  course: MoistureCourse,
  moves: readonly Move[],
  temperatureAt: (atMs: number) => number | null,
): { observations: DriftObservation[]; excluded: Exclusion[] } {
  const observations: DriftObservation[] = [];
  const excluded: Exclusion[] = [];
  let opening: PitchVisit | null = null;
  let workSince = false;
  let strungMs: number | null = null;
  let lastMs = Number.NEGATIVE_INFINITY;
  for (const visit of visits) {
    if (visit.atMs < lastMs) throw new RangeError('visits: must be in the order of time');
    lastMs = visit.atMs;
    const changeCents = opening === null ? {} : differences(opening.asLeft ?? opening.asFound, visit.asFound);
    if (opening !== null && isMeasured(visit)) {
      const refusal = refuse(opening, visit, workSince, changeCents, course, moves);
      if (refusal !== null) excluded.push({ fromMs: opening.atMs, toMs: visit.atMs, ...refusal });
      else
        observations.push(
          observationOf(instrument, opening, visit, changeCents, course, strungMs, temperatureAt),
        );
    }
    // What is done at a visit comes after what was found at it, and belongs to the interval that it opens.
    if (isMeasured(visit)) {
      opening = visit;
      workSince = false;
    }
    if (visit.stringWork) {
      workSince = true;
      strungMs = visit.atMs;
    }
  }
  return { observations, excluded };
}

/** A visit without any pitch, an inspection say, neither ends an interval nor opens one. */
function isMeasured(visit: PitchVisit): boolean {
  return Object.keys(visit.asFound).length > 0 || Object.keys(visit.asLeft ?? {}).length > 0;
}

function observationOf(
  instrument: Instrument,
  from: PitchVisit,
  to: PitchVisit,
  changeCents: DriftObservation['changeCents'],
  course: MoistureCourse,
  strungMs: number | null,
  temperatureAt: (atMs: number) => number | null,
): DriftObservation {
  const years = (to.atMs - from.atMs) / msPerYear;
  const before = from.temperatureC ?? temperatureAt(from.atMs);
  const after = to.temperatureC ?? temperatureAt(to.atMs);
  return {
    instrument: instrument.id,
    kind: instrument.kind,
    finish: instrument.finish,
    fromMs: from.atMs,
    toMs: to.atMs,
    moistureChangePct: course.lagDays.map(
      (_, lag) => moistureAt(course, lag, to.atMs) - moistureAt(course, lag, from.atMs),
    ),
    years,
    temperatureChangeC: before === null || after === null ? 0 : after - before,
    settlingCents: raiseOf(from) * settledShare(years),
    freshStrings: strungMs === null ? 0 : creepShare((from.atMs - strungMs) / msPerYear, years),
    changeCents,
    onlyA4: from.onlyA4 || to.onlyA4,
  };
}

function differences(
  left: PitchVisit['asFound'],
  found: PitchVisit['asFound'],
): Partial<Record<Register, number>> {
  const out: Partial<Record<Register, number>> = {};
  for (const register of registers) {
    const before = left[register];
    const after = found[register];
    if (before !== undefined && after !== undefined) out[register] = after - before;
  }
  return out;
}

/** Mean correction over the registers that were measured before and after it, up positive. */
export function raiseOf(visit: PitchVisit): number {
  if (visit.asLeft === null) return 0;
  const raises = Object.values(differences(visit.asFound, visit.asLeft));
  return raises.length === 0 ? 0 : raises.reduce((sum, raise) => sum + raise, 0) / raises.length;
}

/** Share of a raise's settling that is over after some years. */
export function settledShare(years: number): number {
  return 1 - Math.exp((-years * 365.25) / settlingDays);
}

/** Share of a new set's creep that falls between two ages (years). */
export function creepShare(ageYears: number, years: number): number {
  return Math.exp(-ageYears / creepYears) - Math.exp(-(ageYears + years) / creepYears);
}

function refuse(
  from: PitchVisit,
  to: PitchVisit,
  workSince: boolean,
  changeCents: Partial<Record<Register, number>>,
  course: MoistureCourse,
  moves: readonly Move[],
): Pick<Exclusion, 'reason' | 'because'> | null {
  if (Object.keys(changeCents).length === 0) {
    return { reason: 'nothing measured', because: 'No register was measured at both ends.' };
  }
  if (workSince) {
    return {
      reason: 'string work',
      because: 'Strings were worked on at its beginning or within it: new strings creep.',
    };
  }
  const raise = raiseOf(from);
  if (raise > largeRaiseCents) {
    return {
      reason: 'after a raise',
      because: `It begins with a raise of ${Math.round(raise)} cents, over ${largeRaiseCents}: it settled for months.`,
    };
  }
  const move = moves.find(
    ({ atMs, sensorWentAlong }) => atMs > from.atMs && atMs <= to.atMs && !sensorWentAlong,
  );
  if (move !== undefined) {
    return { reason: 'moved without a sensor', because: 'It was moved, and no sensor went along.' };
  }
  const first = Math.floor((from.atMs - course.startMs) / course.stepMs);
  const last = Math.floor((to.atMs - course.startMs) / course.stepMs);
  if (first < 0 || last >= course.missing.length) {
    return { reason: 'before the climate was known', because: 'Its climate is not known from end to end.' };
  }
  let missing = 0;
  for (let i = first; i <= last; i++) missing += course.missing[i] as number;
  const share = missing / (last - first + 1);
  if (share > missingShare) {
    return {
      reason: 'climate missing',
      because: `${Math.round(share * 100)} % of its climate is missing, over ${missingShare * 100} %.`,
    };
  }
  return null;
}
