/**
 * P(Z ≤ z) for a standard normal Z, within 1e-7.
 *
 * @source AbramowitzStegun-7.1.26
 */
export function normalCumulative(z: number): number {
  const x = Math.abs(z) / Math.SQRT2;
  const t = 1 / (1 + 0.3275911 * x);
  const series =
    t * (0.254829592 + t * (-0.284496736 + t * (1.421413741 + t * (-1.453152027 + t * 1.061405429))));
  const tail = 0.5 * series * Math.exp(-x * x);
  return z < 0 ? tail : 1 - tail;
}

/** The value below which an ascending distribution function reaches `share`, by halving within [low, high]. */
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
