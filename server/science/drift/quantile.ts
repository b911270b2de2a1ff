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

/** Puts the value of rank `k` (from 0) in its place and none larger before it: Hoare's selection, in place. */
function select(values: Float64Array, k: number, from: number): void {
  let low = from;
  let high = values.length - 1;
  while (low < high) {
    const pivot = values[(low + high) >> 1] as number;
    let i = low;
    let j = high;
    while (i <= j) {
      while ((values[i] as number) < pivot) i++;
      while ((values[j] as number) > pivot) j--;
      if (i <= j) {
        const swap = values[i] as number;
        values[i] = values[j] as number;
        values[j] = swap;
        i++;
        j--;
      }
    }
    if (k <= j) high = j;
    else if (k >= i) low = i;
    else return;
  }
}

/**
 * The order statistics nearest to three ascending shares, without sorting the rest; reorders `values`.
 *
 * @source Hoare-1961-find
 */
export function threeQuantiles(
  values: Float64Array,
  shares: readonly [number, number, number],
): [number, number, number] {
  let from = 0;
  return shares.map((share) => {
    const k = Math.round(share * (values.length - 1));
    select(values, k, from);
    from = k;
    return values[k] as number;
  }) as [number, number, number];
}
