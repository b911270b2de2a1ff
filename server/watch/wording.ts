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

/** "16 September", with the year where it is not this one. In the venue's own time. */
export function dayName(timeMs: number, timeZone: string, nowMs: number): string {
  const year = (ms: number) => new Intl.DateTimeFormat('en-GB', { timeZone, year: 'numeric' }).format(ms);
  const sameYear = year(timeMs) === year(nowMs);
  return new Intl.DateTimeFormat('en-GB', {
    timeZone,
    day: 'numeric',
    month: 'long',
    ...(sameYear ? {} : { year: 'numeric' }),
  })
    .format(timeMs)
    .replace(/^(\d+) /, `$1${nbsp}`);
}

export function span(ms: number): string {
  const hours = Math.round(ms / 3_600_000);
  if (hours < 1) return 'less than an hour';
  if (hours < 48) return `${hours}${nbsp}${hours === 1 ? 'hour' : 'hours'}`;
  return `${Math.round(hours / 24)}${nbsp}days`;
}
