/** A quantity that wanders about 0 and forgets: the process of Ornstein and Uhlenbeck (1930), exact for each step. */
import { stepHours } from './clock.ts';
import { chance } from './random.ts';

/**
 * @param every it moves once in so many steps of ten minutes and holds between; for what acts slowly on slow things
 * @returns a function that gives the next value, one step later, each time it is called
 */
export function wander(label: string, standardDeviation: number, hours: number, every = 1): () => number {
  const stream = chance(label);
  const keep = Math.exp((-every * stepHours) / hours);
  const push = standardDeviation * Math.sqrt(1 - keep * keep);
  let value = standardDeviation * stream.normal();
  let held = 0;
  return () => {
    held += 1;
    if (held === every) {
      value = keep * value + push * stream.normal();
      held = 0;
    }
    return value;
  };
}
