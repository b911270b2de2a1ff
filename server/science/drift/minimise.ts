/** Minimising without derivatives, for likelihoods of one to six parameters. */

const goldenShare = (3 - Math.sqrt(5)) / 2;

/**
 * The lowest point of `f` between `from` and `to`: a look along `looks` evenly spaced points, then golden sections around the
 * best of them. Ends of the range count as answers.
 */
export function minimiseScalar(
  f: (x: number) => number,
  from: number,
  to: number,
  options: { looks?: number; tolerance?: number } = {},
): number {
  const { looks = 12, tolerance = 1e-6 } = options;
  const step = (to - from) / (looks - 1);
  let best = from;
  let lowest = Number.POSITIVE_INFINITY;
  for (let i = 0; i < looks; i++) {
    const value = f(from + i * step);
    if (value < lowest) {
      lowest = value;
      best = from + i * step;
    }
  }
  let low = Math.max(from, best - step);
  let high = Math.min(to, best + step);
  let left = low + goldenShare * (high - low);
  let right = high - goldenShare * (high - low);
  let atLeft = f(left);
  let atRight = f(right);
  while (high - low > tolerance) {
    if (atLeft <= atRight) {
      high = right;
      right = left;
      atRight = atLeft;
      left = low + goldenShare * (high - low);
      atLeft = f(left);
    } else {
      low = left;
      left = right;
      atLeft = atRight;
      right = high - goldenShare * (high - low);
      atRight = f(right);
    }
  }
  const middle = (low + high) / 2;
  return f(middle) <= lowest ? middle : best;
}

/**
 * The simplex search of Nelder and Mead.
 *
 * @param start first guess; @param steps first size of the simplex along each axis.
 * @source NelderMead-1965
 */
export function minimise(
  f: (x: readonly number[]) => number,
  start: readonly number[],
  steps: readonly number[],
  options: { evaluations?: number; tolerance?: number } = {},
): { x: number[]; value: number } {
  const { evaluations = 400, tolerance = 1e-6 } = options;
  const n = start.length;
  const simplex = [{ x: [...start], value: f(start) }];
  for (let axis = 0; axis < n; axis++) {
    const x = [...start];
    x[axis] = (x[axis] as number) + (steps[axis] as number);
    simplex.push({ x, value: f(x) });
  }
  let used = n + 1;
  for (;;) {
    simplex.sort((p, q) => p.value - q.value);
    const best = simplex[0] as (typeof simplex)[0];
    const worst = simplex[n] as (typeof simplex)[0];
    const second = simplex[n - 1] as (typeof simplex)[0];
    if (used >= evaluations || Math.abs(worst.value - best.value) < tolerance) return best;

    const centre = start.map((_, axis) => {
      let sum = 0;
      for (let i = 0; i < n; i++) sum += simplex[i]?.x[axis] as number;
      return sum / n;
    });
    const along = (share: number) => {
      const x = centre.map((c, axis) => c + share * ((worst.x[axis] as number) - c));
      used++;
      return { x, value: f(x) };
    };
    const mirrored = along(-1);
    if (mirrored.value < best.value) {
      const further = along(-2);
      simplex[n] = further.value < mirrored.value ? further : mirrored;
    } else if (mirrored.value < second.value) {
      simplex[n] = mirrored;
    } else {
      const inward = along(mirrored.value < worst.value ? -0.5 : 0.5);
      if (inward.value < Math.min(worst.value, mirrored.value)) {
        simplex[n] = inward;
      } else {
        for (let i = 1; i <= n; i++) {
          const point = simplex[i] as (typeof simplex)[0];
          const x = point.x.map((value, axis) => ((best.x[axis] as number) + value) / 2);
          simplex[i] = { x, value: f(x) };
        }
        used += n;
      }
    }
  }
}
