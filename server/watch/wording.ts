/** How numbers and times are said. A number never parts from its unit; minus is a minus sign. */
import type { Register } from '../contract/index.ts';

const nbsp = '\u00a0';

export const signed = (value: number, digits = 0): string => {
  const rounded = Math.abs(value).toFixed(digits);
  if (Number(rounded) === 0) return rounded;
  return `${value < 0 ? '\u2212' : '+'}${rounded}`;
};

export const percent = (value: number, digits = 0): string => `${value.toFixed(digits)}${nbsp}%`;
export const celsius = (value: number): string => `${value.toFixed(1).replace('-', '\u2212')}${nbsp}°C`;

/** "9 cents flat", "2 cents sharp", "at pitch". */
export function flatOrSharp(cents: number): string {
  const size = Math.round(Math.abs(cents));
  if (size === 0) return 'at pitch';
  return `${size}${nbsp}${size === 1 ? 'cent' : 'cents'} ${cents < 0 ? 'flat' : 'sharp'}`;
}

export const points = (value: number): string => {
  const size = Math.abs(value).toFixed(1);
  return `${size}${nbsp}${size === '1.0' ? 'point' : 'points'}`;
};

const registerNames: Record<Register, string> = {
  bass: 'bass',
  tenor: 'low tenor',
  middle: 'middle',
  treble: 'treble',
  top: 'top',
};
export const registerName = (register: Register): string => registerNames[register];

/** Making a formatter is dear, and there are few zones. */
const formatters = new Map<
  string,
  { readonly year: Intl.DateTimeFormat; readonly day: Intl.DateTimeFormat }
>();
function formatterOf(timeZone: string) {
  const known = formatters.get(timeZone);
  if (known) return known;
  const made = {
    year: new Intl.DateTimeFormat('en-GB', { timeZone, year: 'numeric' }),
    day: new Intl.DateTimeFormat('en-GB', { timeZone, day: 'numeric', month: 'long' }),
  };
  formatters.set(timeZone, made);
  return made;
}

/** "16 September", with the year where it is not this one. In the venue's own time. */
export function dayName(timeMs: number, timeZone: string, nowMs: number): string {
  const { year, day } = formatterOf(timeZone);
  const then = year.format(timeMs);
  const name = day.format(timeMs).replace(/^(\d+) /, `$1${nbsp}`);
  return then === year.format(nowMs) ? name : `${name} ${then}`;
}

export function span(ms: number): string {
  const hours = Math.round(ms / 3_600_000);
  if (hours < 1) return 'less than an hour';
  if (hours < 48) return `${hours}${nbsp}${hours === 1 ? 'hour' : 'hours'}`;
  return `${Math.round(hours / 24)}${nbsp}days`;
}

/** A span of temperature; the sign is the sentence's matter. */
export const temperature = (kelvin: number): string => `${kelvin.toFixed(1)}${nbsp}°C`;

/** A chance as people say it: "8 in 10 cases"; never sure. */
export function odds(chance: number): string {
  if (chance >= 0.97) return 'nearly every case';
  if (chance <= 0.03) return 'hardly any case';
  return `${Math.min(9, Math.max(1, Math.round(chance * 10)))}${nbsp}of 10 cases`;
}

/** "under a litre", "about 11 litres", "about 120 litres". */
export function litres(value: number): string {
  const whole = value < 100 ? Math.round(value) : Math.round(value / 10) * 10;
  if (value < 0.95) return `under a${nbsp}litre`;
  return `about ${whole}${nbsp}${whole === 1 ? 'litre' : 'litres'}`;
}

/** A chance as odds: "8 in 10"; never sure of anything. */
export function inTen(chance: number): string {
  if (chance >= 0.97) return 'nearly sure';
  if (chance <= 0.03) return 'hardly likely';
  return `${Math.min(9, Math.max(1, Math.round(chance * 10)))}${nbsp}in${nbsp}10`;
}

/** What a chance that tells of coming weeks rests on. */
export const restsOn = (foretold: boolean): string =>
  foretold ? 'by what is foretold of its air' : 'if the air stays as in the past month';

/** Why something is over, where there is no more to say than that it is. */
export const hasPassed = 'what it was about has passed';
