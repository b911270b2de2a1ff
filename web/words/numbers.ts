/** Numbers as a reader meets them: true minus, a unit that never parts from its number, no false digits. */

/** No-break space: a number and its unit stay on one line. */
export const nbsp = '\u00a0';
const minus = '\u2212';

/** 5.25 -> "5.3"; negative numbers carry a true minus. Never "−0". */
export function plain(value: number, digits = 0): string {
  const text = Math.abs(value).toFixed(digits);
  return value < 0 && Number(text) !== 0 ? minus + text : text;
}

/** As `plain`, with a plus before positive numbers: for offsets, where the direction is the news. */
export function signed(value: number, digits = 0): string {
  const text = plain(value, digits);
  return value > 0 && Number(text) !== 0 ? `+${text}` : text;
}

export function percent(value: number, digits = 0): string {
  return `${plain(value, digits)}${nbsp}%`;
}

/** "−5 cents", "+1 cent", "0 cents". */
export function cents(value: number, digits = 0): string {
  const text = signed(value, digits);
  return `${text}${nbsp}${Math.abs(Number(value.toFixed(digits))) === 1 ? 'cent' : 'cents'}`;
}

/** "−5 ± 2 cents": a prediction with its standard deviation. */
export function centsWithSd(value: number, sd: number): string {
  return `${signed(value)}${nbsp}±${nbsp}${plain(sd, sd < 1 ? 1 : 0)}${nbsp}cents`;
}

export function hertz(value: number, digits = 1): string {
  return `${plain(value, Number.isInteger(value) ? 0 : digits)}${nbsp}Hz`;
}

/** 100 -> "1 h 40 min". */
export function minutes(value: number): string {
  const hours = Math.floor(value / 60);
  const rest = Math.round(value % 60);
  if (hours === 0) return `${rest}${nbsp}min`;
  return rest === 0 ? `${hours}${nbsp}h` : `${hours}${nbsp}h ${rest}${nbsp}min`;
}

const small = [
  'no',
  'one',
  'two',
  'three',
  'four',
  'five',
  'six',
  'seven',
  'eight',
  'nine',
  'ten',
  'eleven',
  'twelve',
];

/** Words up to twelve, figures above: "three instruments", "28 instruments". */
export function count(value: number, one: string, many = `${one}s`): string {
  return `${small[value] ?? value} ${value === 1 ? one : many}`;
}

/** The first letter of a sentence. */
export function capital(sentence: string): string {
  return sentence.charAt(0).toUpperCase() + sentence.slice(1);
}

/** What a person typed as a number: "438,7", "−5", "+ 3"; null for an empty field, NaN for anything else. */
export function typed(text: string): number | null {
  const tidy = text
    .replaceAll(/[\s\u00a0\u202f]/g, '')
    .replace(minus, '-')
    .replace(',', '.');
  if (tidy === '') return null;
  return /^[+-]?(\d+\.?\d*|\.\d+)$/.test(tidy) ? Number(tidy) : Number.NaN;
}
