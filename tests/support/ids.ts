/** Identities that are the same in every run: an instrument's turns of the day hang on its id. */
import { seededRandom } from '../../server/science/drift/index.ts';

/** @returns another UUID with each call, of the fourth kind as the page makes them */
export function seededIds(seed: number): () => string {
  const { uniform } = seededRandom(seed);
  const hex = (digits: number) =>
    Array.from({ length: digits }, () => Math.floor(16 * uniform()).toString(16)).join('');
  return () => `${hex(8)}-${hex(4)}-4${hex(3)}-${'89ab'[Math.floor(4 * uniform())]}${hex(3)}-${hex(12)}`;
}
