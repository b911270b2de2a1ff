/** How a soundboard takes in hours of air: pure, from a state and a climate to the next state and the course between. */
import type { PlacedInstrument } from '../registry/instruments.ts';
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
}

export interface BoardHours {
  /** Start of the first hour; one entry an hour, the value at the hour's end. */
  readonly fromMs: number;
  readonly moisturePct: number[];
  readonly referencePct: number[];
  readonly heldHours: number[];
}

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
  };
}

/** Takes in whole hours of air, day by day, telling the hourly course and the state at the start of each day. */
export function takeIn(
  from: BoardState,
  climate: InstrumentClimate,
  onDay?: (day: number, before: BoardState, means: Float64Array) => void,
): { state: BoardState; hours: BoardHours } {
  const { top, underside } = facesOf(climate);
  const hours: BoardHours = { fromMs: from.atMs, moisturePct: [], referencePct: [], heldHours: [] };
  let state = from;
  let i = Math.round((from.atMs - climate.fromMs) / hourMs);
  while (i < climate.length) {
    const dayEnd = (dayOf(state.atMs) + 1) * dayMs;
    const count = Math.min(climate.length - i, Math.round((dayEnd - state.atMs) / hourMs));
    const means = new Float64Array(count);
    const faces = { top: top.slice(i, i + count), underside: underside.slice(i, i + count) };
    const slab = advanceSlab(state.slab, faces.top, { underside: faces.underside, means });
    let { heldHours, referencePct, referenceHours } = state;
    for (let k = 0; k < count; k++) {
      const meanPct = means[k] ?? Number.NaN;
      heldHours = isGap(faces.top[k]) ? heldHours + 1 : 0;
      if (heldHours === 0) {
        referencePct = nextReference(referencePct, referenceHours, meanPct);
        referenceHours += 1;
      }
      hours.moisturePct.push(meanPct);
      hours.referencePct.push(referencePct);
      hours.heldHours.push(heldHours);
    }
    onDay?.(dayOf(state.atMs), state, means);
    state = { ...state, atMs: state.atMs + count * hourMs, slab, referencePct, referenceHours, heldHours };
    i += count;
  }
  return { state, hours };
}

/** The slow mean after one more hour; its own past weighs more the longer it is. */
function nextReference(referencePct: number, referenceHours: number, meanPct: number): number {
  return referenceHours >= firstSeasonHours
    ? advanceReference(referencePct, meanPct, 1)
    : referencePct + (meanPct - referencePct) / (referenceHours + 1);
}
