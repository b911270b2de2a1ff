/** How a soundboard takes in hours of air: pure, from a state and a climate to the next state and the course between. */
import type { PlacedInstrument } from '../registry/instruments.ts';
import { boardLag, meanOf, stepBoard } from '../science/drift/board-lag.ts';
import { lagGridDays } from '../science/drift/index.ts';
import {
  type Air,
  advanceReference,
  advanceSlab,
  createSlab,
  equilibriumMoisturePct,
  type Part,
  type Slab,
  soundboardPart,
} from '../science/index.ts';
import { hourMs, type InstrumentClimate } from './climate.ts';

export const dayMs = 24 * hourMs;
/** UTC days since the epoch. */
export const dayOf = (timeMs: number): number => Math.floor(timeMs / dayMs);

/** Until a board has a season of its own, the mean of what was seen says more than a slow average begun at one value. */
const firstSeasonHours = 90 * 24;

/** The board at the end of an hour. JSON-serialisable. */
export interface BoardState {
  /** End of the last hour taken in. */
  readonly atMs: number;
  readonly startMs: number;
  readonly slab: Slab;
  /** Slow mean of the board's own past, from which strain is counted. */
  readonly referencePct: number;
  /** Hours of the board's own past in the reference. */
  readonly referenceHours: number;
  /** Hours in a row without air: the profile is held meanwhile. */
  readonly heldHours: number;
  /** The same board at each lag of the grid from which drift is learned: its modes, one lag's after another's, % moisture. */
  readonly lagModes: readonly number[];
  /** Temperature of the plate and the whole: it follows the air at the piano in about a day. null: never known. */
  readonly plateC: number | null;
}

/** One entry an hour, the value at the hour's end. */
export interface BoardCourse {
  readonly moisturePct: number[];
  readonly referencePct: number[];
}

export interface BoardHours extends BoardCourse {
  /** Start of the first hour. */
  readonly fromMs: number;
  readonly heldHours: number[];
  /** Mean moisture at each lag of the grid: one array a lag. */
  readonly lagPct: number[][];
  readonly plateC: (number | null)[];
}

/** From an hour of the course on. */
export function hoursFrom(hours: BoardHours, fromMs: number): BoardHours {
  const skip = Math.max(0, Math.round((fromMs - hours.fromMs) / hourMs));
  return {
    fromMs: hours.fromMs + skip * hourMs,
    moisturePct: hours.moisturePct.slice(skip),
    referencePct: hours.referencePct.slice(skip),
    heldHours: hours.heldHours.slice(skip),
    lagPct: hours.lagPct.map((lag) => lag.slice(skip)),
    plateC: hours.plateC.slice(skip),
  };
}

/** Courses that follow one another, as one. @throws RangeError where there are none */
export function joined(pieces: readonly BoardHours[]): BoardHours {
  const [first] = pieces;
  if (!first) throw new RangeError('a course has at least one piece');
  return {
    fromMs: first.fromMs,
    moisturePct: pieces.flatMap((piece) => piece.moisturePct),
    referencePct: pieces.flatMap((piece) => piece.referencePct),
    heldHours: pieces.flatMap((piece) => piece.heldHours),
    lagPct: first.lagPct.map((_, lag) => pieces.flatMap((piece) => piece.lagPct[lag] ?? [])),
    plateC: pieces.flatMap((piece) => piece.plateC),
  };
}

/** Lags of the grid, and what each of their modes keeps of its distance to the air in an hour. */
const lags = lagGridDays.map(boardLag);
const keptAnHour = lags.flatMap((lag) => lag.ratesPerDay.map((rate) => Math.exp(-rate / 24)));
/** Common practice, no source: a whole piano comes to the temperature of its air within a day. */
const plateAnHour = 1 - Math.exp(-1 / 12);

/** Air at the two faces in each hour: the top sees the room, the underside the inside, each the other where it is alone. */
export function facesOf(climate: InstrumentClimate): { top: Air[]; underside: Air[] } {
  const nothing: Air = { temperatureC: null, humidityPct: null };
  const at = (series: InstrumentClimate['room'], i: number): Air | null => {
    const humidityPct = series?.humidityPct[i] ?? null;
    const temperatureC = series?.temperatureC[i] ?? null;
    return humidityPct === null || temperatureC === null ? null : { humidityPct, temperatureC };
  };
  const top: Air[] = [];
  const underside: Air[] = [];
  for (let i = 0; i < climate.length; i++) {
    const room = at(climate.room, i);
    const inside = at(climate.inside, i);
    top.push(room ?? inside ?? nothing);
    underside.push(inside ?? room ?? nothing);
  }
  return { top, underside };
}

const isGap = (air: Air | undefined): boolean =>
  !air || air.humidityPct === null || air.temperatureC === null;

const parts = new Map<string, Part>();

/** Boards made alike share one part: what is worked out for it is then worked out once. */
function shared(part: Part): Part {
  const key = JSON.stringify(part);
  const known = parts.get(key) ?? part;
  parts.set(key, known);
  return known;
}

/** A state as it was kept; before their modes were one list, each lag had its own. */
export function readBoard(text: string): BoardState {
  const state = JSON.parse(text) as BoardState;
  return {
    ...state,
    lagModes: state.lagModes.flat(),
    slab: { ...state.slab, part: shared(state.slab.part) },
  };
}

/** The state before the first known hour: in equilibrium with the mean of the first week of air. */
export function begin(instrument: PlacedInstrument, climate: InstrumentClimate): BoardState | null {
  const { top, underside } = facesOf(climate);
  const first = top.findIndex((air) => !isGap(air));
  if (first < 0) return null;
  const week: number[] = [];
  for (const air of [...top.slice(first, first + 168), ...underside.slice(first, first + 168)]) {
    const moisture = equilibriumMoisturePct(air.temperatureC, air.humidityPct);
    if (moisture !== null) week.push(moisture);
  }
  const moisturePct = week.reduce((sum, one) => sum + one, 0) / week.length;
  const atMs = climate.fromMs + first * hourMs;
  const slab = createSlab(shared(soundboardPart(instrument.board)), moisturePct);
  const { ribbedAtMoisturePct } = instrument.board;
  return {
    atMs,
    startMs: atMs,
    slab,
    referencePct: ribbedAtMoisturePct ?? moisturePct,
    referenceHours: ribbedAtMoisturePct === null ? 0 : firstSeasonHours,
    heldHours: 0,
    lagModes: lags.flatMap((lag) => lag.weights.map(() => moisturePct)),
    plateC: underside[first]?.temperatureC ?? null,
  };
}

/** What the air of an hour asks of the board as a whole: the mean of its two faces. */
function askedPct(top: Air | undefined, underside: Air | undefined): number {
  const above = equilibriumMoisturePct(top?.temperatureC ?? null, top?.humidityPct ?? null);
  const below =
    top === underside
      ? above
      : equilibriumMoisturePct(underside?.temperatureC ?? null, underside?.humidityPct ?? null);
  return ((above ?? Number.NaN) + (below ?? Number.NaN)) / 2;
}

/** The modes of a board, lag by lag. */
export function modesByLag({ lagModes }: BoardState): number[][] {
  let at = 0;
  return lags.map(({ weights }) => {
    at += weights.length;
    return lagModes.slice(at - weights.length, at);
  });
}

/** By hand, as a fleet is taken on by the hour: an iterator would make an object a number. */
function copied(modes: Float64Array): number[] {
  const copy = new Array<number>(modes.length);
  for (let k = 0; k < modes.length; k++) copy[k] = modes[k] ?? Number.NaN;
  return copy;
}

/**
 * Takes in whole hours of air, day by day.
 * @param onDay told the state at the start of each day, and the hourly means of what is taken in of it
 * @param more where asked for, the rest of the hourly course is put down
 */
export function takeIn(
  from: BoardState,
  climate: InstrumentClimate,
  onDay?: (day: number, before: BoardState, means: Float64Array) => void,
  more?: Omit<BoardHours, 'fromMs' | keyof BoardCourse>,
): BoardCourse & { readonly state: BoardState } {
  const { top, underside } = facesOf(climate);
  const course: BoardCourse = { moisturePct: [], referencePct: [] };
  const modes = new Float64Array(from.lagModes);
  let state = from;
  let i = Math.round((from.atMs - climate.fromMs) / hourMs);
  while (i < climate.length) {
    const dayEnd = (dayOf(state.atMs) + 1) * dayMs;
    const count = Math.min(climate.length - i, Math.round((dayEnd - state.atMs) / hourMs));
    const means = new Float64Array(count);
    const faces = { top: top.slice(i, i + count), underside: underside.slice(i, i + count) };
    const slab = advanceSlab(state.slab, faces.top, { underside: faces.underside, means });
    let { heldHours, referencePct, referenceHours, plateC } = state;
    for (let k = 0; k < count; k++) {
      const meanPct = means[k] ?? Number.NaN;
      heldHours = isGap(faces.top[k]) ? heldHours + 1 : 0;
      if (heldHours === 0) {
        referencePct = nextReference(referencePct, referenceHours, meanPct);
        referenceHours += 1;
        stepBoard(modes, keptAnHour, askedPct(faces.top[k], faces.underside[k]));
        const airC = faces.underside[k]?.temperatureC ?? null;
        if (airC !== null) plateC = plateC === null ? airC : plateC + (airC - plateC) * plateAnHour;
      }
      course.moisturePct.push(meanPct);
      course.referencePct.push(referencePct);
      if (!more) continue;
      let at = 0;
      for (const [l, lag] of lags.entries()) {
        more.lagPct[l]?.push(meanOf(modes.subarray(at, at + lag.weights.length), lag));
        at += lag.weights.length;
      }
      more.plateC.push(plateC);
      more.heldHours.push(heldHours);
    }
    onDay?.(dayOf(state.atMs), state, means);
    const { startMs } = state;
    const atMs = state.atMs + count * hourMs;
    const lagModes = copied(modes);
    state = { atMs, startMs, slab, referencePct, referenceHours, heldHours, lagModes, plateC };
    i += count;
  }
  return { ...course, state };
}

/** The same with all of its hourly course. */
export function hoursOf(
  from: BoardState,
  climate: InstrumentClimate,
): { state: BoardState; hours: BoardHours } {
  const more = { heldHours: [], lagPct: lags.map(() => []), plateC: [] };
  const { state, ...course } = takeIn(from, climate, undefined, more);
  return { state, hours: { fromMs: from.atMs, ...course, ...more } };
}

/** The slow mean after one more hour; its own past weighs more the longer it is. */
function nextReference(referencePct: number, referenceHours: number, meanPct: number): number {
  return referenceHours >= firstSeasonHours
    ? advanceReference(referencePct, meanPct, 1)
    : referencePct + (meanPct - referencePct) / (referenceHours + 1);
}

/** Index of the last hour that ended at or before a time; null before the history. */
export function hourAt(history: BoardHours, timeMs: number): number | null {
  const at = Math.floor((timeMs - history.fromMs) / hourMs) - 1;
  const last = history.moisturePct.length - 1;
  if (at < -1 || last < 0) return null;
  return Math.min(Math.max(at, 0), last);
}
