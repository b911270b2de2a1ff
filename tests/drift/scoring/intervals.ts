/** Exact 90 % intervals of counts, so that a figure beside its target says how sure it is. */

/** P(X ≤ k) of a Poisson law. */
function poissonUpTo(k: number, mean: number): number {
  let term = Math.exp(-mean);
  let sum = term;
  for (let i = 1; i <= k; i++) {
    term *= mean / i;
    sum += term;
  }
  return sum;
}

/** P(X ≤ k) of a binomial law. */
function binomialUpTo(k: number, n: number, share: number): number {
  if (share <= 0) return 1;
  if (share >= 1) return k >= n ? 1 : 0;
  let term = n * Math.log(1 - share);
  let sum = Math.exp(term);
  for (let i = 1; i <= k; i++) {
    term += Math.log((n - i + 1) / i) + Math.log(share / (1 - share));
    sum += Math.exp(term);
  }
  return sum;
}

/** Where a falling function reaches a value. */
function where(falling: (x: number) => number, value: number, from: number, to: number): number {
  let [low, high] = [from, to];
  for (let i = 0; i < 80; i++) {
    const middle = (low + high) / 2;
    if (falling(middle) > value) low = middle;
    else high = middle;
  }
  return (low + high) / 2;
}

/** Of the mean of a Poisson law of which k was seen (Garwood). */
export function poissonInterval(k: number): [number, number] {
  const most = 10 * (k + 5);
  return [
    k === 0 ? 0 : where((mean) => poissonUpTo(k - 1, mean), 0.95, 0, most),
    where((mean) => poissonUpTo(k, mean), 0.05, 0, most),
  ];
}

/** Of a share of which k of n was seen (Clopper and Pearson). */
export function shareInterval(k: number, n: number): [number, number] {
  return [
    k === 0 ? 0 : where((share) => binomialUpTo(k - 1, n, share), 0.95, 0, 1),
    k === n ? 1 : where((share) => binomialUpTo(k, n, share), 0.05, 0, 1),
  ];
}

/** Of a median, by order statistics. */
export function medianInterval(values: readonly number[]): [number, number] {
  const sorted = values.toSorted((a, b) => a - b);
  const n = sorted.length;
  let low = 0;
  while (binomialUpTo(low, n, 0.5) < 0.05) low++;
  return [sorted[low] ?? Number.NaN, sorted[n - 1 - low] ?? Number.NaN];
}
