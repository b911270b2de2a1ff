/**
 * Moisture through the thickness of a wooden part.
 *
 * Fick's law in one direction, on finite volumes, one implicit (backward Euler) step an hour. Each face exchanges
 * with its own air through its film and its surface emission in series; the air of an hour asks for the moisture of
 * `equilibriumMoisturePct`. Implicit steps keep every cell between the least and the greatest moisture it was offered,
 * whatever the cell and the hour, and conserve mass to rounding.
 *
 * Cells are thin at the faces and thick in the middle (cosine spacing): there the fronts are steep.
 * @source Crank-1975 (the series it is checked against)
 */
import { within } from './range.ts';
import { sorptionPct } from './wood.ts';

/** An hour's mean air. */
export interface Air {
  readonly temperatureC: number | null;
  readonly humidityPct: number | null;
}

export interface Face {
  /** Surface emission in units of moisture, m/s; 0 seals the face (glued to a neighbour). */
  readonly emissionMps: number;
  /** Film of the finish, s/m; 0 for bare wood. */
  readonly filmSPerM: number;
}

/** What a slab is made of. Plain data. */
export interface Part {
  readonly name: string;
  readonly thicknessM: number;
  readonly diffusivityM2s: number;
  readonly top: Face;
  readonly underside: Face;
  readonly cells: number;
}

/** The state of a part: plain data that survives JSON. */
export interface Slab {
  readonly part: Part;
  /** Moisture of each cell from top to underside, % of dry mass. */
  readonly profilePct: readonly number[];
  /** Hours of air that are missing and not yet made up for; see `isUncertain`. */
  readonly heldHours: number;
}

export interface AdvanceOptions {
  /** Air at the underside, hour by hour; the top's air where absent. */
  readonly underside?: readonly Air[];
  /** Receives the mean moisture after each hour. */
  readonly means?: Float64Array;
}

const STEP_S = 3600;
const UNCERTAIN_HOURS = 48;

/** Cells at which uptake and middle agree with Crank's series to 0.3 % of the change, and the half time to 0.7 %. */
export const DEFAULT_CELLS = 24;

/** Thickness of each cell as a share of the whole, from top to underside. */
export function cellShares(cells: number): number[] {
  const edge = (i: number) => (1 - Math.cos((Math.PI * i) / cells)) / 2;
  return Array.from({ length: cells }, (_, i) => edge(i + 1) - edge(i));
}

/** The step of an hour, prepared once for a part: the matrix is the same every hour, so its elimination is too. */
interface Step {
  readonly shares: Float64Array;
  /** Forward elimination: multiplier from the cell above, and the inverse pivot. */
  readonly lower: Float64Array;
  readonly inverse: Float64Array;
  /** Back substitution: multiplier from the cell below. */
  readonly upper: Float64Array;
  /** Share of the outer air's moisture that enters the first and the last cell. */
  readonly fromTop: number;
  readonly fromUnderside: number;
}

const steps = new WeakMap<Part, Step>();

/** From the air through emission, film and some depth of wood, m/s. */
function conductance(face: Face, depthM: number, diffusivityM2s: number): number {
  if (face.emissionMps === 0) return 0;
  return 1 / (1 / face.emissionMps + face.filmSPerM + depthM / diffusivityM2s);
}

function prepare(part: Part): Step {
  const known = steps.get(part);
  if (known) return known;
  const n = part.cells;
  const shares = Float64Array.from(cellShares(n));
  const width = (i: number) => (shares[i] ?? 0) * part.thicknessM;
  const between = (i: number) => (2 * part.diffusivityM2s) / (width(i) + width(i + 1));
  const top = conductance(part.top, width(0) / 2, part.diffusivityM2s);
  const underside = conductance(part.underside, width(n - 1) / 2, part.diffusivityM2s);

  const lower = new Float64Array(n);
  const inverse = new Float64Array(n);
  const upper = new Float64Array(n);
  for (let i = 0; i < n; i += 1) {
    const rate = STEP_S / width(i);
    const above = i === 0 ? top : between(i - 1);
    const below = i === n - 1 ? underside : between(i);
    const fromAbove = i === 0 ? 0 : rate * above;
    const pivot = 1 + rate * (above + below) - fromAbove * (i === 0 ? 0 : (upper[i - 1] ?? 0));
    lower[i] = fromAbove;
    inverse[i] = 1 / pivot;
    upper[i] = i === n - 1 ? 0 : (rate * below) / pivot;
  }
  const step: Step = {
    shares,
    lower,
    inverse,
    upper,
    fromTop: (STEP_S / width(0)) * top,
    fromUnderside: (STEP_S / width(n - 1)) * underside,
  };
  steps.set(part, step);
  return step;
}

/**
 * Hours after which a part has forgotten what it held: three of its slowest time constant, that of a sheet whose
 * inner resistance is 4/pi² of its depth and stands in series with each open face. @source Crank-1975
 */
export function memoryHours(part: Part): number {
  const open = [part.top, part.underside].filter(({ emissionMps }) => emissionMps > 0);
  const depthM = ((4 / Math.PI ** 2) * part.thicknessM) / open.length;
  const faces = open.reduce((sum, face) => sum + conductance(face, depthM, part.diffusivityM2s), 0);
  return open.length === 0 ? 0 : Math.ceil((3 * part.thicknessM) / faces / STEP_S);
}

/**
 * A part at even moisture.
 * @param moisturePct 0 to 40 %
 * @throws RangeError for a part or moisture out of range
 */
export function createSlab(part: Part, moisturePct: number): Slab {
  within('moisturePct', moisturePct, 0, 40);
  within('thicknessM', part.thicknessM, 1e-4, 1);
  within('diffusivityM2s', part.diffusivityM2s, 1e-13, 1e-7);
  if (!Number.isInteger(part.cells)) throw new RangeError(`cells must be a whole number, got ${part.cells}`);
  within('cells', part.cells, 3, 1000);
  for (const [name, face] of [['top', part.top] as const, ['underside', part.underside] as const]) {
    within(`${name}.emissionMps`, face.emissionMps, 0, 1e6);
    within(`${name}.filmSPerM`, face.filmSPerM, 0, 1e12);
  }
  return { part, profilePct: new Array<number>(part.cells).fill(moisturePct), heldHours: 0 };
}

function meanOf(shares: Float64Array, profile: ArrayLike<number>): number {
  let mean = 0;
  for (let i = 0; i < shares.length; i += 1) mean += (shares[i] ?? 0) * (profile[i] ?? 0);
  return mean;
}

/** Mean moisture of the part, % of dry mass. */
export function slabMeanPct(slab: Slab): number {
  return meanOf(prepare(slab.part).shares, slab.profilePct);
}

/**
 * Whether too much air is missing to trust the profile: more than 48 hours held. Measured hours make up for held ones
 * one for one, and what the part has forgotten (`memoryHours`) no longer counts.
 */
export function isUncertain(slab: Slab): boolean {
  return slab.heldHours > UNCERTAIN_HOURS;
}

/**
 * Writes the moisture that an hour's air asks of wood; NaN for a gap. Into an array, since a number handed back from a
 * call may be put on the heap, every hour of every slab.
 */
function ask(air: Air | undefined, into: Float64Array, at: number): void {
  const known = air && air.temperatureC !== null && air.humidityPct !== null;
  into[at] = known ? sorptionPct(air.temperatureC, air.humidityPct) : Number.NaN;
}

/** One implicit hour in place: what the faces took in spreads through the cells (elimination down, substitution up). */
function settle(profile: Float64Array, { lower, inverse, upper }: Step): void {
  const last = profile.length - 1;
  let carried = 0;
  for (let i = 0; i <= last; i += 1) {
    carried = ((profile[i] ?? 0) + (lower[i] ?? 0) * carried) * (inverse[i] ?? 0);
    profile[i] = carried;
  }
  for (let i = last - 1; i >= 0; i -= 1) {
    carried = (profile[i] ?? 0) + (upper[i] ?? 0) * carried;
    profile[i] = carried;
  }
}

/**
 * The part some hours later; `slab` itself stays as it was. An hour without temperature or humidity at a face that
 * breathes holds the profile. Hour by hour or all at once comes to the same.
 * @param hours hourly means of the air at the top, in order
 * @throws RangeError where air is out of range, or the underside or `means` has another length
 */
export function advanceSlab(slab: Slab, hours: readonly Air[], options: AdvanceOptions = {}): Slab {
  const { part } = slab;
  const { underside, means } = options;
  if (underside && underside.length !== hours.length) {
    throw new RangeError(
      `underside must have as many hours as the top, ${hours.length}, got ${underside.length}`,
    );
  }
  if (means && means.length < hours.length) {
    throw new RangeError(`means must hold ${hours.length} hours, has ${means.length}`);
  }
  if (slab.profilePct.length !== part.cells) {
    throw new RangeError(`profilePct must have ${part.cells} cells, got ${slab.profilePct.length}`);
  }
  const step = prepare(part);
  const { shares, fromTop, fromUnderside } = step;
  const profile = new Float64Array(slab.profilePct);
  const asked = new Float64Array(2);
  const last = part.cells - 1;
  const forgotten = UNCERTAIN_HOURS + memoryHours(part);
  let heldHours = slab.heldHours;

  for (let hour = 0; hour < hours.length; hour += 1) {
    const above = hours[hour];
    const below = underside ? underside[hour] : above;
    ask(above, asked, 0);
    if (below === above) asked[1] = asked[0] ?? Number.NaN;
    else ask(below, asked, 1);
    const topPct = fromTop > 0 ? (asked[0] ?? Number.NaN) : 0;
    const undersidePct = fromUnderside > 0 ? (asked[1] ?? Number.NaN) : 0;
    if (Number.isNaN(topPct + undersidePct)) {
      heldHours = Math.min(heldHours + 1, forgotten);
    } else {
      profile[0] = (profile[0] ?? 0) + fromTop * topPct;
      profile[last] = (profile[last] ?? 0) + fromUnderside * undersidePct;
      settle(profile, step);
      if (heldHours > 0) heldHours -= 1;
    }
    if (means) means[hour] = meanOf(shares, profile);
  }
  // By hand: an iterator would make an object a cell.
  const profilePct = new Array<number>(profile.length);
  for (let i = 0; i < profile.length; i += 1) profilePct[i] = profile[i] ?? 0;
  return { part, profilePct, heldHours };
}
