/** The values under the cursor, or the last ones where there is none. */
import { moistureWord } from '../words/moisture.ts';
import { centsWithSd, nbsp, percent, plain } from '../words/numbers.ts';
import { temperatureUnit } from '../words/temperature.ts';
import { moment } from '../words/times.ts';
import { type Column, valueAt } from './columns.ts';
import type { Drawing } from './drawing.ts';

export interface Readout {
  readonly timeMs: number | null;
  readonly inside: string;
  readonly room: string;
  readonly board: string;
  readonly boardWord: string;
  readonly pitch: string;
}

const missing = '–';

function last(column: Column): number | null {
  return column.findLast((value) => value !== null) ?? null;
}

export function readout(drawing: Drawing, timeMs: number | null): Readout {
  const { air, board, pitch, quantity } = drawing;
  // A step of the grid: beyond it the value belongs to another time.
  const withinMs = ((air[0].at(-1) ?? 0) - (air[0][0] ?? 0)) / Math.max(air[0].length - 1, 1);
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
    pitch: offset === null || upper === null ? missing : centsWithSd(offset, upper - offset),
  };
}

export function spoken(at: Readout, drawing: Drawing, register: string): string {
  if (at.timeMs === null) return '';
  const said = [
    moment(at.timeMs, drawing.timeZone),
    ...(at.inside === missing ? [] : [`inside ${at.inside}`]),
    ...(at.room === missing ? [] : [`room ${at.room}`]),
    at.board === missing ? 'board not known' : `board ${at.board}, ${at.boardWord}`,
    at.pitch === missing ? `${register} not predicted` : `${register} ${at.pitch}`,
  ];
  return said.join('; ');
}
