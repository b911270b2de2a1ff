/** Quantiles: of a distribution function, and of a sorted sample. */

/** The value at which an ascending distribution function reaches `share`, by halving within [low, high]. */
export function quantileOf(
  cumulative: (at: number) => number,
  share: number,
  low: number,
  high: number,
): number {
  let from = low;
  let to = high;
  for (let i = 0; i < 60 && to - from > 1e-9 * (Math.abs(from) + Math.abs(to) + 1e-9); i++) {
    const middle = (from + to) / 2;
    if (cumulative(middle) < share) from = middle;
    else to = middle;
  }
  return (from + to) / 2;
}

/** Quantile of values already in ascending order, by linear interpolation between neighbours. */
export function sortedQuantile(ascending: ArrayLike<number>, share: number): number {
  const position = share * (ascending.length - 1);
  const below = Math.floor(position);
  const low = ascending[below] as number;
  const high = ascending[Math.min(below + 1, ascending.length - 1)] as number;
  return low + (position - below) * (high - low);
}

export function median(values: readonly number[]): number {
  return sortedQuantile(
    [...values].sort((a, b) => a - b),
    0.5,
  );
}
