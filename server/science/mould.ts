/**
 * Mould on bare spruce and pine: an index from 0 (none) over 1 (some growth under the microscope) and 3 (visible) to 6
 * (the surface covered). Growth by the 1999 model, decline in dry spells included.
 * @source HukkaViitanen-1999
 * The form and most constants were read in public code of the Finnish model; the terms of species and surface, and
 * the rate above index 1, are recalled.
 *
 * Mould is a health matter: above index 1 a surface is looked at, above 3 it is cleaned with protection and by
 * someone who knows how, after the damp has been found and ended.
 */
import { within } from './range.ts';
import type { Air } from './slab.ts';

export interface MouldSurface {
  readonly species: 'spruce' | 'pine';
  /** `resawn`: sawn or planed after drying. `kiln-dried`: the original surface, rich in nutrients. */
  readonly surface: 'resawn' | 'kiln-dried';
}

/** Plain state, so that new hours go on where the last ended. */
export interface MouldState {
  readonly index: number;
  /** Hours since the air last allowed growth. */
  readonly dryHours: number;
}

export const NO_MOULD: MouldState = { index: 0, dryHours: 0 };
const BARE_SPRUCE: MouldSurface = { species: 'spruce', surface: 'resawn' };

/** Humidity below which nothing grows, %: 80 above 20 °C, more when colder. */
export function criticalHumidityPct(temperatureC: number): number {
  within('temperatureC', temperatureC, -60, 85);
  const T = Math.max(0, temperatureC);
  return T > 20 ? 80 : 100 + T * (-3.13 + T * (0.16 - T * 0.00267));
}

/** Weeks in steady air to the first growth (index 1). @param humidityPct above the critical */
export function weeksToFirstGrowth(
  temperatureC: number,
  humidityPct: number,
  on: MouldSurface = BARE_SPRUCE,
): number {
  const { W, SQ } = terms(on);
  return Math.exp(
    -0.68 * Math.log(temperatureC) - 13.9 * Math.log(humidityPct) + 0.14 * W - 0.33 * SQ + 66.02,
  );
}

/** Weeks in steady air to visible growth (index 3). */
export function weeksToVisibleGrowth(
  temperatureC: number,
  humidityPct: number,
  on: MouldSurface = BARE_SPRUCE,
): number {
  const { W } = terms(on);
  return Math.exp(-0.74 * Math.log(temperatureC) - 12.72 * Math.log(humidityPct) + 0.06 * W + 61.5);
}

/** The index that growth in steady air comes to at last. */
export function greatestMouldIndex(temperatureC: number, humidityPct: number): number {
  const critical = criticalHumidityPct(temperatureC);
  const x = (critical - humidityPct) / (critical - 100);
  return 1 + 7 * x - 2 * x * x;
}

function terms({ species, surface }: MouldSurface): { W: number; SQ: number } {
  return { W: species === 'spruce' ? 1 : 0, SQ: surface === 'kiln-dried' ? 1 : 0 };
}

/** Index per hour while the air allows growth, and the decline otherwise: quick for 6 h, then none, after a day slow. */
function growthPerHour(index: number, temperatureC: number, humidityPct: number, on: MouldSurface): number {
  const tm = weeksToFirstGrowth(temperatureC, humidityPct, on);
  const k1 = index < 1 ? 1 : 2 / (weeksToVisibleGrowth(temperatureC, humidityPct, on) / tm - 1);
  const k2 = Math.max(0, 1 - Math.exp(2.3 * (index - greatestMouldIndex(temperatureC, humidityPct))));
  return (k1 * k2) / (7 * 24 * tm);
}

function declinePerHour(dryHours: number): number {
  if (dryHours <= 6) return -0.032 / 24;
  return dryHours <= 24 ? 0 : -0.016 / 24;
}

/** The state an hour later. An hour without air changes nothing. */
export function advanceMould(
  state: MouldState,
  { temperatureC, humidityPct }: Air,
  on = BARE_SPRUCE,
): MouldState {
  if (temperatureC === null || humidityPct === null) return state;
  within('humidityPct', humidityPct, 0, 100);
  const grows =
    temperatureC > 0 &&
    temperatureC < 50 &&
    humidityPct > 0 &&
    humidityPct >= criticalHumidityPct(temperatureC);
  if (grows) {
    const index = state.index + growthPerHour(state.index, temperatureC, humidityPct, on);
    return { index: Math.min(6, index), dryHours: 0 };
  }
  const dryHours = state.dryHours + 1;
  return { index: Math.max(0, state.index + declinePerHour(dryHours)), dryHours };
}

/**
 * The index after each hour.
 * @param hours hourly means of the air at the surface
 * @returns 0 to 6
 */
export function mouldIndex(
  hours: readonly Air[],
  on: MouldSurface = BARE_SPRUCE,
  start = NO_MOULD,
): number[] {
  let state = start;
  return hours.map((air) => {
    state = advanceMould(state, air, on);
    return state.index;
  });
}
