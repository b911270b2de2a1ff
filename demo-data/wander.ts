/** A quantity that wanders about 0 and forgets: the process of Ornstein and Uhlenbeck (1930), exact for each step. */
import { stepHours } from './clock.ts';
import { chance } from './random.ts';

/** @returns a function that gives the next value, one step of ten minutes later, each time it is called. */
export function wander(label: string, standardDeviation: number, hours: number): () => number {
  const stream = chance(label);
  const keep = Math.exp(-stepHours / hours);
  const push = standardDeviation * Math.sqrt(1 - keep * keep);
  let value = standardDeviation * stream.normal();
  return () => {
    value = keep * value + push * stream.normal();
    return value;
  };
}
