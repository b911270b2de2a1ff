/** From visits and the board's moisture to what the model may learn from, and why not from the rest. */
import { type MoistureCourse, moistureAt, stepAt } from './board-lag.ts';
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
  let openings: Openings = {};
  let last: PitchVisit | null = null;
  let correction: Correction | null = null;
  let strungMs: number | null = null;
  let lastMs = Number.NEGATIVE_INFINITY;
  for (const visit of visits) {
    if (visit.atMs < lastMs) throw new RangeError('visits: must be in the order of time');
    lastMs = visit.atMs;
    const ended = byOpening(openings, visit.asFound);
    if (last !== null && isMeasured(visit) && ended.length === 0) {
      const because = 'No register was measured at both ends.';
      excluded.push({ fromMs: last.atMs, toMs: visit.atMs, reason: 'nothing measured', because });
    }
    for (const [opening, changeCents] of ended) {
      const refusal = refuse(opening, visit, strungMs, course, moves);
      if (refusal !== null) excluded.push({ fromMs: opening.visit.atMs, toMs: visit.atMs, ...refusal });
      else
        observations.push(
          observationOf(instrument, opening, visit, changeCents, course, strungMs, temperatureAt),
        );
    }
    // What is done at a visit comes after what was found at it, and belongs to the intervals that it opens.
    if (visit.asLeft !== null) correction = { atMs: visit.atMs, cents: raiseOf(visit) };
    if (isMeasured(visit)) {
      last = visit;
      openings = opened(openings, { visit, correction });
    }
    if (visit.stringWork) strungMs = visit.atMs;
  }
  return { observations, excluded };
}

/** What a tuning did to the pitch (cents, up positive). */
export interface Correction {
  readonly atMs: number;
  readonly cents: number;
}

/** What of a correction has still to settle at a time (cents). */
export function leftToSettle(correction: Correction | null, atMs: number): number {
  return correction === null
    ? 0
    : correction.cents * (1 - settledShare((atMs - correction.atMs) / msPerYear));
}

/** A visit from which some registers are known, and the last correction by then. */
interface Opening {
  readonly visit: PitchVisit;
  readonly correction: Correction | null;
}
type Openings = Readonly<Partial<Record<Register, Opening>>>;

/** A tuning opens anew whatever it left; a reading without one only what it read: the rest goes on from where it was known. */
function opened(before: Openings, opening: Opening): Openings {
  const { asFound, asLeft } = opening.visit;
  const known = Object.keys(asLeft ?? asFound).map((register) => [register, opening]);
  return { ...(asLeft === null ? before : {}), ...Object.fromEntries(known) };
}

/** What registers did since they were known, each from its own opening; one entry an opening, the oldest first. */
function byOpening(
  openings: Openings,
  found: PitchVisit['asFound'],
): [Opening, DriftObservation['changeCents']][] {
  const distinct = [...new Set(Object.values(openings))].sort((a, b) => a.visit.atMs - b.visit.atMs);
  return distinct.flatMap((opening): [Opening, DriftObservation['changeCents']][] => {
    const { asFound, asLeft } = opening.visit;
    const own = Object.entries(asLeft ?? asFound).filter(
      ([register]) => openings[register as Register] === opening,
    );
    const changeCents = differences(Object.fromEntries(own), found);
    return Object.keys(changeCents).length === 0 ? [] : [[opening, changeCents]];
  });
}

/** A visit without any pitch, an inspection say, neither ends an interval nor opens one. */
function isMeasured(visit: PitchVisit): boolean {
  return Object.keys(visit.asFound).length > 0 || Object.keys(visit.asLeft ?? {}).length > 0;
}

function observationOf(
  instrument: Instrument,
  { visit: from, correction }: Opening,
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
    settlingCents: leftToSettle(correction, from.atMs) * settledShare(years),
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

type Refusal = Pick<Exclusion, 'reason' | 'because'>;

function refuse(
  { visit: from, correction }: Opening,
  to: PitchVisit,
  strungMs: number | null,
  course: MoistureCourse,
  moves: readonly Move[],
): Refusal | null {
  if (strungMs !== null && strungMs >= from.atMs) {
    return {
      reason: 'string work',
      because: 'Strings were worked on at its beginning or within it: new strings creep.',
    };
  }
  if (correction !== null && leftToSettle(correction, from.atMs) > largeRaiseCents) {
    const raise = `a raise of ${Math.round(correction.cents)} cents, over ${largeRaiseCents}`;
    const begins = correction.atMs === from.atMs ? `with ${raise}` : `soon after ${raise}`;
    return { reason: 'after a raise', because: `It begins ${begins}: it settled for months.` };
  }
  return refuseClimate(course, moves, from.atMs, to.atMs);
}

/** Why what the air did between two times is not known well enough to learn from; null where it is. */
export function refuseClimate(
  course: MoistureCourse,
  moves: readonly Move[],
  fromMs: number,
  toMs: number,
): Refusal | null {
  const move = moves.find(({ atMs, sensorWentAlong }) => atMs > fromMs && atMs <= toMs && !sensorWentAlong);
  if (move !== undefined) {
    return { reason: 'moved without a sensor', because: 'It was moved, and no sensor went along.' };
  }
  const first = stepAt(course, fromMs);
  const last = stepAt(course, toMs);
  if (first === null || last === null) {
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
