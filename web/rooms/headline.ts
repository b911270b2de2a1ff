/** The sentence the rooms page opens with: how many need nothing, and what is the matter with the others. */
import type { RoomState, RoomToday } from '../../server/contract/index.ts';
import { capital, count } from '../words/numbers.ts';

/** In the order in which they matter; `which` is "two", or "two rooms" where rooms were not named yet. */
const matters: readonly (readonly [RoomState, (which: string, many: boolean) => string])[] = [
  ['control', (which) => `in ${which} a humidity control stands still`],
  ['dry', (which, many) => `${which} ${many ? 'are' : 'is'} dry`],
  ['damp', (which, many) => `${which} ${many ? 'are' : 'is'} damp`],
  ['piano', (which, many) => `${which} ${many ? 'need' : 'needs'} a look`],
  ['sensor', (which, many) => `in ${which} ${many ? 'sensors ask' : 'the sensor asks'} for a hand`],
  ['unknown', (which, many) => `${which} ${many ? 'are' : 'is'} not measured`],
];

export function headline(rooms: readonly Pick<RoomToday, 'today'>[]): string {
  const of = (state: RoomState) => rooms.filter((one) => one.today.state === state).length;
  const fit = of('fit');
  if (rooms.length === 0) return 'No room is entered yet';
  if (fit === rooms.length) {
    return rooms.length === 1 ? 'The room needs nothing' : `All ${count(fit, 'room')} need nothing`;
  }
  const parts = fit === 0 ? [] : [`${count(fit, 'room')} ${fit === 1 ? 'needs' : 'need'} nothing`];
  for (const [state, say] of matters) {
    const n = of(state);
    if (n > 0) parts.push(say(parts.length === 0 ? count(n, 'room') : count(n, '', '').trim(), n > 1));
  }
  return capital(parts.join(', '));
}
