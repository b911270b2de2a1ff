/**
 * How dry is the pinblock against its own past? Its moisture follows the air at the piano over weeks, so it is taken on
 * once a day by the day's mean air. Its own low is what it has come down to in the seasons before this one: a block that
 * held its pins there may not hold them below. Kept as a few integers, so that a fleet's hourly step stays cheap. Pure.
 */
import {
  type Air,
  advanceSlab,
  createSlab,
  equilibriumMoisturePct,
  pinblockPart,
  slabMeanPct,
} from '../science/index.ts';

const part = pinblockPart();
/** Lows are kept by spans of 30 days, a year and three quarters of them. */
const spanDays = 30;
const spans = 21;
/** The last three months are the season at hand, not its past; of that, a year must be known (proposals). */
const recentSpans = 3;
const leastPastSpans = 12;
/** Thousandths of a percent, the cells from top to underside, then the lows, newest last, then the days of the newest. */
const daysAt = part.cells + spans;
export const pinblockLength = daysAt + 1;
export type Pinblock = Int16Array;
const gap = -1;
const perPct = 1000;

/** Days of past air from which a block is known as well as it ever will be. */
export const pinblockPastDays = spans * spanDays;

export const unknownPinblock = (): Pinblock => new Int16Array(pinblockLength).fill(gap);

const isKnown = (block: Pinblock): boolean => (block[0] ?? gap) !== gap;

function slabOf(block: Pinblock) {
  const profilePct = Array.from(block.subarray(0, part.cells), (one) => one / perPct);
  return { part, profilePct, heldHours: 0 };
}

/** What each cell adds to the mean: asked every hour of a fleet, so no profile is made for it. */
const weights = Array.from({ length: part.cells }, (_, cell) =>
  slabMeanPct({
    part,
    profilePct: Array.from({ length: part.cells }, (_one, i) => Number(i === cell)),
    heldHours: 0,
  }),
);

/** Mean moisture of the block, %; null before its air is known. */
export function pinblockPct(block: Pinblock): number | null {
  if (!isKnown(block)) return null;
  let mean = 0;
  for (let i = 0; i < part.cells; i += 1) mean += (weights[i] ?? 0) * (block[i] ?? 0);
  return mean / perPct;
}

/** The lowest its mean has been before the season at hand, %; null until a year of such past is known. */
export function ownLowPct(block: Pinblock): number | null {
  let [low, known] = [Number.POSITIVE_INFINITY, 0];
  for (let i = part.cells; i < daysAt - recentSpans; i += 1) {
    const one = block[i] ?? gap;
    if (one === gap) continue;
    known += 1;
    low = Math.min(low, one);
  }
  return known < leastPastSpans ? null : low / perPct;
}

/**
 * The block a day later; a day whose air is not known holds it.
 * @param air the day's mean at the piano. A block not known yet begins in equilibrium with it.
 */
export function takeDay(block: Pinblock, air: Air): Pinblock {
  const asked = equilibriumMoisturePct(air.temperatureC, air.humidityPct);
  if (asked === null) return block;
  const before = isKnown(block) ? slabOf(block) : createSlab(part, asked);
  const slab = advanceSlab(before, new Array<Air>(24).fill(air));
  const next = Int16Array.from(block);
  slab.profilePct.forEach((pct, i) => {
    next[i] = Math.min(32_767, Math.round(pct * perPct));
  });
  const mean = Math.round(slabMeanPct(slab) * perPct);
  const days = Math.max(0, block[daysAt] ?? 0);
  if (days === 0 || days >= spanDays) {
    next.set(block.subarray(part.cells + 1, daysAt), part.cells);
    next[daysAt - 1] = mean;
    next[daysAt] = 1;
  } else {
    next[daysAt - 1] = Math.min(mean, block[daysAt - 1] ?? mean);
    next[daysAt] = days + 1;
  }
  return next;
}

/** A block from the past of its air, day by day, oldest first; it begins in equilibrium with the first month of it. */
export function pinblockFrom(days: readonly Air[]): Pinblock {
  const first = days.findIndex((one) => one.humidityPct !== null && one.temperatureC !== null);
  if (first < 0) return unknownPinblock();
  const known = days
    .slice(first, first + spanDays)
    .flatMap((one) => equilibriumMoisturePct(one.temperatureC, one.humidityPct) ?? []);
  const meanPct = known.reduce((sum, one) => sum + one, 0) / known.length;
  const begun = unknownPinblock().fill(Math.round(meanPct * perPct), 0, part.cells);
  return days.slice(first).reduce(takeDay, begun);
}
