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

/** Puts the value of rank `k` in its place, none larger before and none smaller after it, between two ranks: Hoare's selection. */
function select(values: Float64Array, k: number, from: number, to: number): void {
  let low = from;
  let high = to;
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
  const last = values.length - 1;
  const first = Math.round(shares[0] * last);
  const second = Math.round(shares[1] * last);
  const third = Math.round(shares[2] * last);
  select(values, second, 0, last);
  select(values, first, 0, second);
  select(values, third, second, last);
  return [values[first] as number, values[second] as number, values[third] as number];
}
