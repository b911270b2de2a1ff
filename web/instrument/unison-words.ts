/** The widest of what a visit heard of the unisons: the one number of the piano, or the worst of its registers. */
import type { SpreadWord, Visit } from '../../server/contract/index.ts';
import { spreadWords } from '../../server/contract/index.ts';
import { plain } from '../words/numbers.ts';

type Side = 'found' | 'left';

const sampled = (visit: Visit, side: Side) =>
  (side === 'found' ? visit.unisonsFound : visit.unisonsLeft) ?? [];

/** Cents as measured: over the piano where that was entered, else in the widest register. null: not measured. */
export function widestCents(visit: Visit, side: Side): number | null {
  const whole = side === 'found' ? visit.unisonsFoundCents : visit.unisonsLeftCents;
  const each = sampled(visit, side).flatMap(({ cents }) => cents ?? []);
  return whole ?? (each.length === 0 ? null : Math.max(...each));
}

function worstWord(visit: Visit, side: Side): SpreadWord | null {
  const heard = sampled(visit, side).map(({ word }) => word);
  return spreadWords.findLast((word) => heard.includes(word)) ?? null;
}

/** "1.8", "slow beat", or a dash where nobody listened. */
export function unisonWords(visit: Visit, side: Side): string {
  const cents = widestCents(visit, side);
  return cents === null ? (worstWord(visit, side) ?? '–') : plain(cents, 1);
}
