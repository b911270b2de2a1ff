/** The sentence the rooms page opens with: how many need nothing, and what is the matter with the others. */
import type { RoomState, RoomToday } from '../../server/contract/index.ts';
import { capital, count } from '../words/numbers.ts';

/** In the order in which they matter; `n` is how many, in words. */
const matters: readonly (readonly [RoomState, (n: string, many: boolean) => string])[] = [
  ['control', (n) => `in ${n} a humidity control stands still`],
  ['dry', (n, many) => `${n} ${many ? 'are' : 'is'} dry`],
  ['damp', (n, many) => `${n} ${many ? 'are' : 'is'} damp`],
  ['piano', (n, many) => `${n} ${many ? 'need' : 'needs'} a look`],
  ['sensor', (n, many) => `${n} ${many ? 'sensors ask' : 'sensor asks'} for a hand`],
  ['unknown', (n, many) => `${n} ${many ? 'are' : 'is'} not measured`],
];

export function headline(rooms: readonly Pick<RoomToday, 'today'>[]): string {
  const of = (state: RoomState) => rooms.filter((one) => one.today.state === state).length;
  const word = (n: number) => count(n, '', '').trim();
  const fit = of('fit');
  if (rooms.length === 0) return 'No room is entered yet';
  if (fit === rooms.length) {
    return rooms.length === 1 ? 'The room needs nothing' : `All ${count(fit, 'room')} need nothing`;
  }
  const parts = matters.flatMap(([state, say]) => {
    const n = of(state);
    return n === 0 ? [] : [say(word(n), n > 1)];
  });
  const rest = fit === 0 ? [] : [`${count(fit, 'room')} ${fit === 1 ? 'needs' : 'need'} nothing`];
  return capital([...rest, ...parts].join(', '));
}
