/** Running summaries of hourly series with gaps. `null` is a gap: it is neither counted nor filled. */
import { within } from './range.ts';

export type Hourly = readonly (number | null)[];

function wholeHours(name: string, hours: number): number {
  within(name, hours, 1, 1e6);
  if (!Number.isInteger(hours)) throw new RangeError(`${name} must be a whole number of hours, got ${hours}`);
  return hours;
}

/**
 * Mean of what was measured within a window around (`centred`) or up to (`trailing`) each hour.
 * @param windowHours a centred window takes one hour more where it is even, so that it stays symmetric
 * @param leastShare of the window that must be measured, else null; a window that reaches over the series' end is short of it
 */
export function runningMean(
  values: Hourly,
  windowHours: number,
  { place, leastShare = 0.5 }: { readonly place: 'centred' | 'trailing'; readonly leastShare?: number },
): (number | null)[] {
  wholeHours('windowHours', windowHours);
  const half = Math.floor(windowHours / 2);
  const [before, after] = place === 'centred' ? [half, half] : [windowHours - 1, 0];
  const sums = new Float64Array(values.length + 1);
  const counts = new Float64Array(values.length + 1);
  values.forEach((value, i) => {
    sums[i + 1] = (sums[i] ?? 0) + (value ?? 0);
    counts[i + 1] = (counts[i] ?? 0) + (value === null ? 0 : 1);
  });
  return values.map((_, i) => {
    const from = i - before;
    const to = i + after + 1;
    if (from < 0 || to > values.length) return null;
    const count = (counts[to] ?? 0) - (counts[from] ?? 0);
    if (count === 0 || count < leastShare * (to - from)) return null;
    return ((sums[to] ?? 0) - (sums[from] ?? 0)) / count;
  });
}

/** Quantile by linear interpolation between order statistics; null of nothing. @param share 0 to 1 */
export function quantile(values: readonly number[], share: number): number | null {
  within('share', share, 0, 1);
  const sorted = Float64Array.from(values).sort();
  const at = share * (sorted.length - 1);
  const below = sorted[Math.floor(at)];
  const above = sorted[Math.ceil(at)];
  return below === undefined || above === undefined ? null : below + (at - Math.floor(at)) * (above - below);
}

/** Share of the measured hours within a band, 0 to 1; null where nothing was measured. */
export function shareInBand(values: Hourly, low: number, high: number): number | null {
  within('low', low, Number.NEGATIVE_INFINITY, high);
  let measured = 0;
  let inside = 0;
  for (const value of values) {
    if (value === null) continue;
    measured += 1;
    if (value >= low && value <= high) inside += 1;
  }
  return measured === 0 ? null : inside / measured;
}
