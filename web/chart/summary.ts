/** What a chart shows, said in a sentence or two: for whoever does not see it, and for whoever wants it short. */
import type { Climate, Pitch, Register } from '../../server/contract/index.ts';
import { cents, count, percent } from '../words/numbers.ts';
import { registerNames } from '../words/terms.ts';
import { longDay } from '../words/times.ts';
import { type Column, extent, pitchColumns } from './columns.ts';
import type { Coming, FanColumns } from './coming.ts';

function reach(name: string, column: Column | undefined, say: (value: number) => string): string | null {
  const found = column ? extent(column) : null;
  return found ? `${name} went from ${say(found[0])} to ${say(found[1])}` : null;
}

export function summary(climate: Climate, pitch: Pitch, register: Register, timeZone: string): string {
  const inside = reach('inside air', climate.inside?.humidityPct, (value) => percent(value));
  const room = reach('the room’s air', climate.room?.humidityPct, (value) => percent(value));
  const board = reach('the board', climate.board.moisturePct, (value) => percent(value, 1));
  const [, , offsets] = pitchColumns(pitch, register);
  const offset = reach(`the ${registerNames[register].toLowerCase()}, as predicted,`, offsets, (v) =>
    cents(v),
  );
  const told = [inside, room, board, offset].filter((part): part is string => part !== null);
  const when = `Between ${longDay(climate.fromMs, timeZone)} and ${longDay(climate.untilMs, timeZone)}`;
  if (told.length === 0) return `${when} nothing was measured.`;
  const tunings = pitch.visits.filter(({ tuned }) => tuned).length;
  return `${when} ${told.join(', ')}. ${count(tunings, 'tuning')} in this time.`
    .replace(/\. n/, '. N')
    .replace(/\. ([a-z])/g, (_, letter: string) => `. ${letter.toUpperCase()}`);
}

/** The far end of the fans, in words. */
export function comingWords(coming: Coming, register: Register, timeZone: string): string {
  const end = (fan: FanColumns, say: (value: number) => string): string | null => {
    const [low, middle, high] = [fan.low, fan.middle, fan.high].map((column) => column.at(-1) ?? null);
    if (typeof low !== 'number' || typeof middle !== 'number' || typeof high !== 'number') return null;
    return `${say(middle)} (8 in 10 between ${say(low)} and ${say(high)})`;
  };
  const parts = [
    ['the air', end(coming.humidityPct, (value) => percent(value))],
    ['the board', end(coming.moisturePct, (value) => percent(value, 1))],
    [
      `the ${registerNames[register].toLowerCase()}, if nobody tunes it,`,
      end(coming.offsetCents, (value) => cents(value)),
    ],
  ].filter(([, said]) => said !== null);
  if (parts.length === 0) return '';
  return `Foretold for ${longDay(coming.untilMs, timeZone)}: ${parts.map(([name, said]) => `${name} at ${said}`).join('; ')}.`;
}
