/** The numbers a notice rests on, named and in their units: the unit is the end of the name. */
import type { Notice } from '../../server/contract/index.ts';
import { capital, cents, hertz, percent, plain } from '../words/numbers.ts';
import { degrees } from '../words/temperature.ts';
import { lasting, moment } from '../words/times.ts';

type Value = Notice['evidence'][string];

function digits(value: number): number {
  return Number.isInteger(value) ? 0 : Math.abs(value) < 1 ? 2 : 1;
}

/** Longest ends first: "Ms" would else swallow what ends in "AtMs". */
const units: readonly (readonly [end: string, say: (value: number, timeZone: string) => string])[] = [
  ['PctPerDay', (value) => `${percent(value, digits(value))} a day`],
  ['Pct', (value) => percent(value, digits(value))],
  ['Cents', (value) => cents(value, digits(value))],
  ['Hours', (value) => lasting(value * 3_600_000)],
  ['Days', (value) => lasting(value * 86_400_000)],
  ['AtMs', moment],
  ['FromMs', moment],
  ['UntilMs', moment],
  ['SinceMs', moment],
  // A time stamp where it is large enough to be one, a length of time otherwise.
  ['Ms', (value, timeZone) => (value > 1e11 ? moment(value, timeZone) : lasting(value))],
  ['Hz', (value) => hertz(value)],
  ['C', (value) => degrees(value)],
];

/** "boardMoisturePct" -> "Board moisture". */
function named(key: string, end: string): string {
  const bare = key === end ? key : key.slice(0, key.length - end.length);
  const words = (bare === '' ? key : bare).replaceAll(/([a-z])([A-Z0-9])/g, '$1 $2').toLowerCase();
  return capital(words);
}

export function evidenceWords(evidence: Notice['evidence'], timeZone: string): [string, string][] {
  return Object.entries(evidence).map(([key, value]: [string, Value]) => {
    const unit =
      units.find(([end]) => key.endsWith(end) && key !== end) ??
      units.find(([end]) => key === end.toLowerCase());
    const name = named(key, unit?.[0] ?? '');
    if (value === null) return [name, 'not known'];
    if (typeof value === 'string') return [name, value];
    return [name, unit ? unit[1](value, timeZone) : plain(value, digits(value))];
  });
}
