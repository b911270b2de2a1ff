/** The values under the cursor, or the last ones where there is none. */
import { moistureWord } from '../words/moisture.ts';
import { cents, centsWithSd, nbsp, percent, plain } from '../words/numbers.ts';
import { temperatureUnit } from '../words/temperature.ts';
import { moment } from '../words/times.ts';
import { type Column, eightOfTen, valueAt } from './columns.ts';
import type { FanColumns } from './coming.ts';
import type { Drawing } from './drawing.ts';

export interface Readout {
  readonly timeMs: number | null;
  readonly inside: string;
  readonly room: string;
  readonly board: string;
  readonly boardWord: string;
  readonly pitch: string;
  /** Of the air at the board on a day to come; empty on any other. */
  readonly foretold: string;
}

const missing = '–';

function last(column: Column): number | null {
  return column.findLast((value) => value !== null) ?? null;
}

const halfDayMs = 43_200_000;

/** "36 % (33 to 39 %)": the median and the band that holds eight of ten. */
function fanWords(fan: FanColumns, timeMs: number, say: (value: number) => string): [string, number | null] {
  const at = (column: Column) => valueAt([...fan.timesMs], column, timeMs, 2 * halfDayMs);
  const [low, middle, high] = [at(fan.low), at(fan.middle), at(fan.high)];
  if (low === null || middle === null || high === null) return [missing, null];
  return [`${say(middle)} (${say(low)} to ${say(high)})`, middle];
}

/** What is foretold for a day to come. */
function aheadOf({ coming, quantity }: Drawing, timeMs: number): Readout | null {
  if (!coming || timeMs <= coming.todayMs) return null;
  const [board, moisture] = fanWords(coming.moisturePct, timeMs, (value) => percent(value, 1));
  return {
    timeMs,
    inside: missing,
    room: missing,
    foretold:
      quantity === 'humidityPct'
        ? fanWords(coming.humidityPct, timeMs, (value) => percent(value))[0]
        : 'not foretold',
    board,
    boardWord: moisture === null ? '' : moistureWord(moisture),
    pitch: fanWords(coming.offsetCents, timeMs, (value) => cents(value))[0],
  };
}

const stepMs = (timesMs: readonly number[]): number =>
  ((timesMs.at(-1) ?? 0) - (timesMs[0] ?? 0)) / Math.max(timesMs.length - 1, 1);

export function readout(drawing: Drawing, timeMs: number | null): Readout {
  const ahead = timeMs === null ? null : aheadOf(drawing, timeMs);
  if (ahead) return ahead;
  const { air, board, pitch, quantity } = drawing;
  // A step of the grid: beyond it the value belongs to another time.
  const withinMs = stepMs(air[0]);
  const at = (times: number[], column: Column) =>
    timeMs === null ? last(column) : valueAt(times, column, timeMs, withinMs);
  const sayAir = (value: number | null) => {
    if (value === null) return missing;
    return quantity === 'humidityPct' ? percent(value) : `${plain(value, 1)}${nbsp}°${temperatureUnit.value}`;
  };
  const moisture = at(board[0], board[1]) ?? at(board[0], board[2]);
  const offset = at(pitch[0], pitch[2]);
  const upper = at(pitch[0], pitch[3]);
  return {
    timeMs,
    inside: sayAir(at(air[0], air[2])),
    room: sayAir(at(air[0], air[1])),
    board: moisture === null ? missing : percent(moisture, 1),
    boardWord: moisture === null ? '' : moistureWord(moisture),
    pitch: offset === null || upper === null ? missing : centsWithSd(offset, (upper - offset) / eightOfTen),
    foretold: '',
  };
}

export function spoken(at: Readout, drawing: Drawing, register: string): string {
  if (at.timeMs === null) return '';
  const { leftOut, air } = drawing;
  const half = stepMs(air[0]) / 2;
  const timeMs = at.timeMs;
  const doubted = leftOut.some((one) => one.fromMs <= timeMs + half && timeMs - half <= one.untilMs);
  const said = [
    moment(at.timeMs, drawing.timeZone),
    ...(at.foretold === '' ? [] : [`foretold: air ${at.foretold}`]),
    ...(doubted ? ['readings left out: in doubt'] : []),
    ...(at.inside === missing ? [] : [`inside ${at.inside}`]),
    ...(at.room === missing ? [] : [`room ${at.room}`]),
    at.board === missing ? 'board not known' : `board ${at.board}, ${at.boardWord}`,
    at.pitch === missing ? `${register} not predicted` : `${register} ${at.pitch}`,
  ];
  return said.join('; ');
}
