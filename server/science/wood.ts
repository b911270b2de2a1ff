/**
 * What wood does with the moisture of the air: the moisture it comes to, and how far it then swells.
 */
import { within } from './range.ts';

/** Above this wood swells no further, % of dry mass. A convention, not a sharp point. @source WoodHandbook-4 */
export const FIBRE_SATURATION_PCT = 30;

/** `equilibriumMoisturePct` of known air: never null, which keeps the numbers of an hourly loop off the heap. */
export function sorptionPct(temperatureC: number, humidityPct: number): number {
  // Compared here first: a call that hands numbers over, every hour, costs more than the equation.
  if (!(temperatureC >= -60 && temperatureC <= 85)) within('temperatureC', temperatureC, -60, 85);
  if (!(humidityPct >= 0 && humidityPct <= 100)) within('humidityPct', humidityPct, 0, 100);
  const T = Math.max(temperatureC, -1.1);
  const W = 349 + T * (1.29 + T * 0.0135);
  const K = 0.805 + T * (0.000736 - T * 0.00000273);
  const K1 = 6.27 - T * (0.00938 + T * 0.000303);
  const K2 = 1.91 + T * (0.0407 - T * 0.000293);
  const Kh = (K * humidityPct) / 100;
  const first = K1 * Kh;
  const both = first * K2 * Kh;
  return (1800 / W) * (Kh / (1 - Kh) + (first + 2 * both) / (1 + first + both));
}

/**
 * Moisture that wood comes to in steady air, by the two-hydrate sorption form (Hailwood and Horrobin) with the
 * Wood Handbook's coefficients in °C. They describe Sitka spruce, midway between drying and wetting: a given piece
 * may stand 1 to 2 % from it, and the branches 1 to 4 % from each other.
 *
 * @param temperatureC -60 to 85 °C. The table starts at -1.1 °C; colder wood is given its value there, as frost
 *   changes it by less than the table's last digit from one row to the next.
 * @param humidityPct 0 to 100 %, relative to water or ice as in `air.ts`
 * @returns % of dry mass; null where an input is null
 * @throws RangeError outside the range
 * @source WoodHandbook-4-5
 */
export function equilibriumMoisturePct(temperatureC: number, humidityPct: number): number;
export function equilibriumMoisturePct(
  temperatureC: number | null,
  humidityPct: number | null,
): number | null;
export function equilibriumMoisturePct(
  temperatureC: number | null,
  humidityPct: number | null,
): number | null {
  if (temperatureC === null || humidityPct === null) return null;
  return sorptionPct(temperatureC, humidityPct);
}

/** The woods a piano is made of. */
export type Species =
  | 'spruce-sitka'
  | 'spruce-engelmann'
  | 'spruce-red'
  | 'spruce-white'
  | 'spruce-black'
  | 'maple-sugar'
  | 'beech-american'
  | 'yellow-poplar'
  | 'birch-yellow';

/** The spruces of soundboards. */
export type Spruce = Extract<Species, `spruce-${string}`>;

/** `radial`: across a quartersawn board, along its face; `tangential`: through its thickness, or across a flat-sawn one. */
export type Direction = 'radial' | 'tangential';

/**
 * Change of size per % moisture (dimensional change coefficients), for 6 to 14 % moisture. @source WoodHandbook-13-5
 * Shrinkage green to oven-dry, %. @source WoodHandbook-4-3 (the Sitka, red, white, black spruce and sugar maple
 * rows recalled; they return the coefficients beside them, which were read).
 */
const MOVEMENT: Readonly<
  Record<Species, Readonly<Record<Direction, readonly [perPct: number, shrinkagePct: number]>>>
> = {
  'spruce-sitka': { radial: [0.00148, 4.3], tangential: [0.00263, 7.5] },
  'spruce-engelmann': { radial: [0.0013, 3.8], tangential: [0.00248, 7.1] },
  'spruce-red': { radial: [0.0013, 3.8], tangential: [0.00274, 7.8] },
  'spruce-white': { radial: [0.0013, 3.8], tangential: [0.00274, 7.8] },
  'spruce-black': { radial: [0.00141, 4.1], tangential: [0.00237, 6.8] },
  'maple-sugar': { radial: [0.00165, 4.8], tangential: [0.00353, 9.9] },
  'beech-american': { radial: [0.0019, 5.5], tangential: [0.00431, 11.9] },
  'yellow-poplar': { radial: [0.00158, 4.6], tangential: [0.00289, 8.2] },
  'birch-yellow': { radial: [0.00256, 7.3], tangential: [0.00338, 9.5] },
};

export const SPECIES = Object.keys(MOVEMENT) as readonly Species[];

/** Change of size per % of moisture, a share of the size. @source WoodHandbook-13-5 */
export function movementPerPct(species: Species, direction: Direction): number {
  return MOVEMENT[species][direction][0];
}

/** Shrinkage from green to oven-dry, % of the green size. @source WoodHandbook-4-3 */
export function shrinkagePct(species: Species, direction: Direction): number {
  return MOVEMENT[species][direction][1];
}

/**
 * Free swelling (positive) or shrinking from one moisture to another, by the linear coefficient: good to a few percent
 * between 6 and 14 %.
 * @param size at the first moisture, in any unit of length
 * @param perPct coefficient of the species and direction, `movementPerPct`
 * @returns change of size in that unit
 * @throws RangeError for a moisture outside 0 to 30 %
 * @source WoodHandbook-13-2
 */
export function sizeChange(size: number, perPct: number, fromPct: number, toPct: number): number {
  within('fromPct', fromPct, 0, FIBRE_SATURATION_PCT);
  within('toPct', toPct, 0, FIBRE_SATURATION_PCT);
  return size * perPct * (toPct - fromPct);
}

/**
 * The same over the whole range up to fibre saturation.
 * @param shrinkage green to oven-dry in %, `shrinkagePct`
 * @source WoodHandbook-13-3 (form recalled)
 */
export function sizeChangeWideRange(size: number, shrinkage: number, fromPct: number, toPct: number): number {
  within('fromPct', fromPct, 0, FIBRE_SATURATION_PCT);
  within('toPct', toPct, 0, FIBRE_SATURATION_PCT);
  within('shrinkage', shrinkage, 0.1, 30);
  return (
    (size * (toPct - fromPct)) / ((FIBRE_SATURATION_PCT * 100) / shrinkage - FIBRE_SATURATION_PCT + fromPct)
  );
}
