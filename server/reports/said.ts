/** How numbers, classes and days are said on paper. */
const nbsp = '\u00a0';

export const conditionWords = ['no symptoms', 'minor', 'moderate', 'major'] as const;
export const urgencyWords = ['long term', 'intermediate', 'short term', 'immediate'] as const;
export const recommendationWords = [
  'nothing to do',
  'maintenance',
  'repair or closer examination',
  'major work',
] as const;

export function plain(value: number, digits = 1): string {
  const text = String(Number(Math.abs(value).toFixed(digits)));
  return value < 0 && Number(text) !== 0 ? `\u2212${text}` : text;
}
export const signed = (value: number, digits = 1): string =>
  value > 0 && Number(value.toFixed(digits)) !== 0 ? `+${plain(value, digits)}` : plain(value, digits);

export const withUnit = (value: number, unit: string): string => `${plain(value, 2)}${nbsp}${unit}`;

/** 100 -> "1 h 40 min". */
export function duration(minutes: number): string {
  const hours = Math.floor(minutes / 60);
  const rest = Math.round(minutes % 60);
  if (hours === 0) return `${rest}${nbsp}min`;
  return rest === 0 ? `${hours}${nbsp}h` : `${hours}${nbsp}h${nbsp}${rest}${nbsp}min`;
}

export function money(cents: number, currency: string): string {
  return new Intl.NumberFormat('en-GB', { style: 'currency', currency }).format(cents / 100);
}

export function dayOf(timeMs: number, timeZone: string): string {
  return new Intl.DateTimeFormat('en-GB', {
    timeZone,
    day: 'numeric',
    month: 'long',
    year: 'numeric',
  }).format(timeMs);
}

const noteNames = ['A', 'A#', 'B', 'C', 'C#', 'D', 'D#', 'E', 'F', 'F#', 'G', 'G#'];
/** 1 -> A0, 40 -> C4, 88 -> C8. */
export function noteName(key: number): string {
  const octave = Math.floor((key + 8) / 12);
  return `${noteNames[(key - 1) % 12] ?? ''}${octave}`;
}
export const notesWords = (range: { low: number; high: number }): string =>
  range.low === range.high ? noteName(range.low) : `${noteName(range.low)} to ${noteName(range.high)}`;

export const upperFirst = (text: string): string => text.charAt(0).toUpperCase() + text.slice(1);
