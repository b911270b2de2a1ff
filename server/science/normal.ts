/**
 * The standard normal distribution function, to about 1e-15: the series near the middle, the continued fraction in the
 * tails. @source AbramowitzStegun-26-2
 */
export function normalCdf(z: number): number {
  if (Number.isNaN(z)) return Number.NaN;
  const a = Math.abs(z);
  if (a > 38) return z > 0 ? 1 : 0;
  const density = Math.exp((-a * a) / 2) / Math.sqrt(2 * Math.PI);
  if (a < 3) {
    // 26.2.11
    let term = a;
    let sum = a;
    for (let n = 3; Math.abs(term) > 1e-17 * sum; n += 2) {
      term *= (a * a) / n;
      sum += term;
    }
    return z > 0 ? 0.5 + density * sum : 0.5 - density * sum;
  }
  // 26.2.14
  let fraction = 0;
  for (let n = 60; n >= 1; n -= 1) fraction = n / (a + fraction);
  const tail = density / (a + fraction);
  return z > 0 ? 1 - tail : tail;
}
