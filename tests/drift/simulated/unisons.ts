/**
 * Unisons of a simulated piano, string by string: each answers the movement of the board by its own amount, the treble-most most,
 * and sticks at its bearings until pushed past its play; use adds a slow random walk. What is read is the 90th percentile over
 * the unisons that were sampled.
 */
import type { Random } from '../../../server/science/drift/random.ts';

const strings = [-0.55, 0.05, 0.75];
const unisons = 12;

/** Spread (cents) that would be read at each of the given steps, counted from a tuning at `from`. */
export function spreadsAfter(
  random: Random,
  feltPct: Float64Array,
  sensitivity: number,
  from: number,
  to: number,
  stepsPerYear: number,
  sampled: number,
): number {
  const perYear = 0.5;
  const spreads: number[] = [];
  for (let unison = 0; unison < unisons; unison++) {
    const reach = Math.exp(0.35 * random.normal());
    const offsets = strings.map((share) => {
      const answer = 0.55 * sensitivity * reach * (share + 0.25 * random.normal());
      const play = 0.5 * random.uniform();
      const start = feltPct[from] ?? 0;
      let held = start;
      for (let i = from; i <= to; i++) {
        const value = feltPct[i] ?? 0;
        if (value > held + play) held = value - play;
        else if (value < held - play) held = value + play;
      }
      // Part follows at once, part is held by friction.
      const moved = 0.5 * ((feltPct[to] ?? 0) - start) + 0.5 * (held - start);
      const walk = perYear * Math.sqrt((to - from) / stepsPerYear) * random.normal();
      return answer * moved + walk + 0.15 * random.normal();
    });
    spreads.push(Math.max(...offsets) - Math.min(...offsets));
  }
  const read = spreads.slice(0, sampled).sort((a, b) => a - b);
  return read[Math.floor(0.9 * (read.length - 1))] ?? 0;
}
