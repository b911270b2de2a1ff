/** How past words fared, in words: as plainly when they fared badly. */
import type { LookBackScore } from '../../server/contract/index.ts';
import { count, nbsp, plain } from '../words/numbers.ts';

type Rival = LookBackScore['rivals'][number];

/** The rule that would have missed least, of those nobody needs this page for. */
export function bestRival({ rivals }: LookBackScore): Rival | null {
  return rivals.toSorted((a, b) => a.missCents - b.missCents)[0] ?? null;
}

const cents = (value: number): string => `${plain(value, 1)}${nbsp}cents`;

/** The band should hold eight of ten; of few visits no share can be told from that. */
function bandWords(coverage: number, intervals: number): string {
  const share = `${Math.round(coverage * 100)}${nbsp}%`;
  if (intervals < 5) return `the band held ${share}, of too few visits to judge it by`;
  if (coverage < 0.7) return `the band held ${share} and should hold 80: it claims to know more than it does`;
  if (coverage > 0.9) return `the band held ${share} and should hold 80: it is wider than it need be`;
  return `the band held ${share} and should hold 80`;
}

/** @param whose "this piano", "this venue", "the whole fleet" */
export function scoreWords(whose: string, score: LookBackScore): string {
  const { intervals, coverage, missCents } = score;
  if (missCents === null || coverage === null)
    return `Of ${whose} nothing could be set against what was found yet.`;
  const rival = bestRival(score);
  const said = `Over ${count(intervals, 'interval')} of ${whose} what was said missed by ${cents(missCents)} on average`;
  const against = rival
    ? missCents <= rival.missCents
      ? `, where the best plain rule (${rival.name}) misses by ${cents(rival.missCents)}`
      : `, worse than a plain rule: ${rival.name} misses by only ${cents(rival.missCents)}`
    : '';
  return `${said}${against}; ${bandWords(coverage, intervals)}.`;
}

/** "yes", "no, 1.3 too low": whether what was found lay in the band. */
export function inBand(foundCents: number, lowCents: number, highCents: number): string {
  if (foundCents < lowCents) return `no, ${plain(lowCents - foundCents, 1)} below`;
  if (foundCents > highCents) return `no, ${plain(foundCents - highCents, 1)} above`;
  return 'yes';
}
