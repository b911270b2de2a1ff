/** The sentences the page of rounds opens with. Plain functions of what the service said. */
import type { Call, Round, RoundsPage } from '../../server/contract/index.ts';
import { capital, count, minutes } from '../words/numbers.ts';
import { longDay } from '../words/times.ts';

const pianos = (calls: readonly Call[]): number =>
  new Set(calls.flatMap(({ instrumentId }) => instrumentId ?? [])).size;

/** The place without the venue it is listed under. */
export function within({ place, venueName }: Pick<Call, 'place' | 'venueName'>): string {
  return place.startsWith(`${venueName} · `) ? place.slice(venueName.length + 3) : place;
}

export function heading(rounds: readonly Round[], nowMs: number): string {
  const last = rounds.at(-1);
  if (!last) return 'No round is needed today';
  return `${capital(count(rounds.length, 'round'))} by ${longDay(last.dateMs, last.timeZone, nowMs)}`;
}

export function lead(page: RoundsPage): string {
  const calls = page.rounds.flatMap((round) => round.calls);
  const asking = pianos(calls);
  const total = page.rounds.reduce((sum, round) => sum + round.minutes, 0);
  const others = calls.filter(({ instrumentId }) => instrumentId === null).length;
  const parts: string[] = [];
  if (asking > 0) {
    parts.push(
      `${capital(count(asking, 'of', 'of'))} ${page.instruments} ${page.instruments === 1 ? 'instrument' : 'instruments'} ` +
        `${asking === 1 ? 'asks' : 'ask'} for hands, ${minutes(total)} without the ways`,
    );
  } else if (calls.length === 0) parts.push('The watch goes on; what begins shows up here');
  if (others > 0) parts.push(`${capital(count(others, 'sensor'))} ${others === 1 ? 'needs' : 'need'} a look`);
  const waiting = pianos(page.waiting);
  if (waiting > 0) {
    const more = asking > 0 ? count(waiting, 'more', 'more') : count(waiting, 'instrument');
    parts.push(`${capital(more)} ${waiting === 1 ? 'is' : 'are'} better left for now`);
  }
  return `${parts.join('. ')}.`;
}
