/** From what was seen to classes 0-3: proposals after the pattern of EN 16096:2012, which a person can change. */
import type { Class0to3 } from '../quantities.ts';
import { type Item, type Kind, normalOf } from './item.ts';

const clamp = (value: number): Class0to3 => Math.max(0, Math.min(3, value)) as Class0to3;

/** How soon: as bad as it is, a step sooner for what grows worse or endangers, a step later for trifles. */
export function proposedUrgency(item: Pick<Item, 'urgencyShift'>, condition: Class0to3): Class0to3 {
  return condition === 0 ? 0 : clamp(condition + (item.urgencyShift ?? 0));
}

/** none; maintenance; repair or closer examination; major work. */
export function proposedRecommendation(condition: Class0to3): Class0to3 {
  return condition;
}

export type AgainstNormal = 'normal' | 'low' | 'high';

/** Where a measured value stands against the normal range; null where the item has none. */
export function againstNormal(item: Item, kind: Kind, value: number): AgainstNormal | null {
  if (!item.measure) return null;
  const { low, high } = normalOf(item.measure, kind);
  if (low !== null && value < low) return 'low';
  if (high !== null && value > high) return 'high';
  return 'normal';
}

/** Why a measured value cannot be meant, in one sentence; null where it can. */
export function implausibleValue(item: Item, value: number): string | null {
  if (!item.measure) return null;
  const { plausible, unit, alsoIn = {} } = item.measure;
  if (value >= plausible.low && value <= plausible.high) return null;
  const other = Object.entries(alsoIn).find(
    ([, one]) => value * one >= plausible.low && value * one <= plausible.high,
  );
  const meant = other ? `was ${other[0]} meant?` : 'was it mistyped, or another unit meant?';
  return `${value} ${unit} is beyond what can be measured there (${plausible.low} to ${plausible.high} ${unit}); ${meant}`;
}

/** "6.8 to 13.6", "at most 1", "at least 3": where the unit stands beside it already. */
export function normalRange(item: Item, kind: Kind): string | null {
  if (!item.measure) return null;
  const { low, high } = normalOf(item.measure, kind);
  const say = (value: number) => (value < 0 ? `\u2212${-value}` : String(value));
  if (low !== null && high !== null) return `${say(low)} to ${say(high)}`;
  if (high !== null) return high === 0 ? '0' : `at most ${say(high)}`;
  return low === null ? null : `at least ${say(low)}`;
}

/** "6.8 to 13.6 N·m", "at most 1 mm", "at least 3 mm". */
export function normalWords(item: Item, kind: Kind): string | null {
  const range = normalRange(item, kind);
  return range === null ? null : `${range} ${item.measure?.unit}`;
}
