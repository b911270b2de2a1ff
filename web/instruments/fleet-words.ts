/** The sentence the list of instruments opens with. */
import type { InstrumentSummary } from '../../server/contract/index.ts';
import { capital, count } from '../words/numbers.ts';

/** Said in full when all is well too: silence would leave the reader wondering. */
export function fleetWords(instruments: readonly InstrumentSummary[]): { heading: string; rest: string } {
  const urgent = instruments.filter(({ advice }) => advice.urgency === 3).length;
  const soon = instruments.filter(({ advice }) => advice.urgency === 2).length;
  const later = instruments.filter(({ advice }) => advice.urgency === 1).length;
  const asking = urgent + soon;
  const all = count(instruments.length, 'instrument');
  const heading =
    asking === 0
      ? `None of ${instruments.length === 1 ? 'your one instrument asks' : `${all} asks`} for hands today`
      : `${capital(count(asking, 'instrument'))} ${asking === 1 ? 'asks' : 'ask'} for hands`;
  const parts: string[] = [];
  if (urgent > 0) parts.push(`${capital(count(urgent, 'of them', 'of them'))} cannot wait`);
  if (later > 0)
    parts.push(
      `${capital(asking > 0 ? count(later, 'more', 'more') : count(later, 'visit'))} can be planned for the coming months`,
    );
  const quiet = instruments.length - asking - later;
  if (quiet > 0) {
    parts.push(
      quiet === instruments.length
        ? 'Everything stands within what it can bear'
        : `${capital(count(quiet, 'other', 'others'))} ${quiet === 1 ? 'needs' : 'need'} nothing`,
    );
  }
  const dry = instruments.filter(
    ({ boardClass, boardMoisturePct }) => (boardClass ?? 0) > 0 && (boardMoisturePct ?? 8) < 8,
  ).length;
  if (dry > 0) parts.push(`${capital(count(dry, 'board'))} ${dry === 1 ? 'is' : 'are'} drier than is good`);
  return { heading, rest: parts.length === 0 ? '' : `${parts.join('. ')}.` };
}
