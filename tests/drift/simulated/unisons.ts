/**
 * Unisons of a simulated piano, string by string: each answers the movement of the board by its own amount, the treble-most most,
 * and sticks at its bearings until pushed past its play; use adds a random walk. What is read is the 90th percentile over the
 * unisons that happened to be sampled.
 */
import type { Random } from '../../../server/science/drift/random.ts';

const strings = [-0.55, 0.05, 0.75];
const perSquareRootYear = 0.5;

interface SimulatedString {
  /** Cents per %MC, and %MC of play. */
  readonly answer: number;
  readonly play: number;
}

/** The notes a technician would sample from, each of three strings: they keep their character for life. */
export function unisonsOf(random: Random, centsPerPct: number): SimulatedString[][] {
  return Array.from({ length: 20 }, () => {
    const reach = Math.exp(0.35 * random.normal());
    return strings.map((share) => ({
      answer: 0.55 * centsPerPct * reach * (share + 0.25 * random.normal()),
      play: 0.5 * random.uniform(),
    }));
  });
}

/** Spread (cents) that would be read at step `to`, the unisons having been tuned at step `from`. */
export function spreadRead(
  random: Random,
  unisons: readonly SimulatedString[][],
  feltPct: Float64Array,
  from: number,
  to: number,
  stepsPerYear: number,
  sampled: number,
): number {
  const start = feltPct[from] ?? 0;
  const end = feltPct[to] ?? 0;
  const spreads = unisons
    .map((unison) => ({ unison, order: random.uniform() }))
    .sort((a, b) => a.order - b.order)
    .slice(0, sampled)
    .map(({ unison }) => {
      const offsets = unison.map(({ answer, play }) => {
        let held = start;
        for (let i = from; i <= to; i++) {
          const value = feltPct[i] ?? 0;
          if (value > held + play) held = value - play;
          else if (value < held - play) held = value + play;
        }
        const walk = perSquareRootYear * Math.sqrt((to - from) / stepsPerYear) * random.normal();
        // Half follows at once, half is held by friction.
        return answer * (0.5 * (end - start) + 0.5 * (held - start)) + walk + 0.15 * random.normal();
      });
      return Math.max(...offsets) - Math.min(...offsets);
    })
    .sort((a, b) => a - b);
  return spreads[Math.floor(0.9 * (spreads.length - 1))] ?? 0;
}
