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
  /** The same board at each lag of the grid from which drift is learned: its modes, % moisture. */
  readonly lagModes: readonly (readonly number[])[];
  /** Temperature of the plate and the whole: it follows the air at the piano in about a day. null: never known. */
  readonly plateC: number | null;
}

export interface BoardHours {
  /** Start of the first hour; one entry an hour, the value at the hour's end. */
  readonly fromMs: number;
  readonly moisturePct: number[];
  readonly referencePct: number[];
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
const keptAnHour = lags.map((lag) => lag.ratesPerDay.map((rate) => Math.exp(-rate / 24)));
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
  const slab = createSlab(soundboardPart(instrument.board), moisturePct);
  const { ribbedAtMoisturePct } = instrument.board;
  return {
    atMs,
    startMs: atMs,
    slab,
    referencePct: ribbedAtMoisturePct ?? moisturePct,
    referenceHours: ribbedAtMoisturePct === null ? 0 : firstSeasonHours,
    heldHours: 0,
    lagModes: lags.map((lag) => lag.weights.map(() => moisturePct)),
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

/** Takes in whole hours of air, day by day, telling the hourly course and the state at the start of each day. */
export function takeIn(
  from: BoardState,
  climate: InstrumentClimate,
  onDay?: (day: number, before: BoardState, means: Float64Array) => void,
): { state: BoardState; hours: BoardHours } {
  const { top, underside } = facesOf(climate);
  const hours: BoardHours = {
    fromMs: from.atMs,
    moisturePct: [],
    referencePct: [],
    heldHours: [],
    lagPct: lags.map(() => []),
    plateC: [],
  };
  const modes = from.lagModes.map((lag) => Float64Array.from(lag));
  let state = from;
  let i = Math.round((from.atMs - climate.fromMs) / hourMs);
  while (i < climate.length) {
    const dayEnd = (dayOf(state.atMs) + 1) * dayMs;
    const count = Math.min(climate.length - i, Math.round((dayEnd - state.atMs) / hourMs));
    const means = new Float64Array(count);
    const faces = { top: top.slice(i, i + count), underside: underside.slice(i, i + count) };
    const slab = advanceSlab(state.slab, faces.top, { underside: faces.underside, means });
    let { heldHours, referencePct, referenceHours, plateC } = state;
    const before: BoardState = { ...state, lagModes: modes.map((lag) => Array.from(lag)) };
    for (let k = 0; k < count; k++) {
      const meanPct = means[k] ?? Number.NaN;
      heldHours = isGap(faces.top[k]) ? heldHours + 1 : 0;
      if (heldHours === 0) {
        referencePct = nextReference(referencePct, referenceHours, meanPct);
        referenceHours += 1;
        const asked = askedPct(faces.top[k], faces.underside[k]);
        for (const [l, lag] of modes.entries()) stepBoard(lag, keptAnHour[l] ?? [], asked);
        const airC = faces.underside[k]?.temperatureC ?? null;
        if (airC !== null) plateC = plateC === null ? airC : plateC + (airC - plateC) * plateAnHour;
      }
      for (const [l, lag] of lags.entries()) {
        hours.lagPct[l]?.push(meanOf(modes[l] ?? new Float64Array(0), lag));
      }
      hours.plateC.push(plateC);
      hours.moisturePct.push(meanPct);
      hours.referencePct.push(referencePct);
      hours.heldHours.push(heldHours);
    }
    onDay?.(dayOf(state.atMs), before, means);
    const atMs = state.atMs + count * hourMs;
    state = { ...before, atMs, slab, referencePct, referenceHours, heldHours, plateC };
    i += count;
  }
  return { state: { ...state, lagModes: modes.map((lag) => Array.from(lag)) }, hours };
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
