/** The difference between two runs of the model, in words, always with the range that holds eight of ten. */
import type { SetAgainst } from '../../server/contract/index.ts';
import { plain } from '../words/numbers.ts';

export interface Counted {
  readonly one: string;
  readonly many: string;
  readonly digits: number;
}

export const days: Counted = { one: 'day', many: 'days', digits: 0 };
export const tuningCount: Counted = { one: 'tuning', many: 'tunings', digits: 1 };

/** "between 35 and 100 fewer", "between 20 fewer and 5 more", "between none and 71 fewer". */
export function rangeWords({ low, high }: Pick<SetAgainst, 'low' | 'high'>, digits: number): string {
  const least = 0.5 * 10 ** -digits;
  const isNone = (value: number) => Math.abs(value) < least;
  const way = (value: number) => (value < 0 ? 'fewer' : 'more');
  const side = (value: number) => `${plain(Math.abs(value), digits)} ${way(value)}`;
  const [near, far] = Math.abs(low) <= Math.abs(high) ? [low, high] : [high, low];
  if (isNone(near) && isNone(far)) return 'none either way';
  if (isNone(near)) return `between none and ${side(far)}`;
  if (Math.sign(near) === Math.sign(far)) return `between ${plain(Math.abs(near), digits)} and ${side(far)}`;
  return `between ${side(low)} and ${side(high)}`;
}

/** "about 65 fewer days", "no more and no fewer days". */
export function byWords(by: number, { one, many, digits }: Counted): string {
  const size = plain(Math.abs(by), digits);
  if (Number(size) === 0) return `no more and no fewer ${many}`;
  return `about ${size} ${by < 0 ? 'fewer' : 'more'} ${Number(size) === 1 ? one : many}`;
}

/** "15 fewer", "the same". */
export function inTable({ by }: Pick<SetAgainst, 'by'>, { digits }: Counted): string {
  const size = plain(Math.abs(by), digits);
  return Number(size) === 0 ? 'the same' : `${size} ${by < 0 ? 'fewer' : 'more'}`;
}
