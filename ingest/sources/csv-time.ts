/** The times loggers write, as UTC. Fast, because a logger's file has a hundred thousand of them. */
import { FixedOffsetZone, IANAZone, type Zone } from 'luxon';

/** Milliseconds, or the sentence that says what is wrong with the text. */
export type ReadTime = (text: string) => number | string;

const dayMs = 86_400_000;
const minuteMs = 60_000;

/**
 * @param name an IANA name ("Europe/Helsinki"), or a fixed offset ("UTC", "UTC+2", "GMT-3:30", "+02:00")
 * @throws Error that names what was given
 */
export function zoneNamed(name: string): Zone {
  const fixed = /^(?:UTC|GMT)?([+-])(\d{1,2})(?::?(\d{2}))?$/i.exec(name.trim());
  if (fixed) {
    const [, sign, hours, minutes = '0'] = fixed;
    const total = Number(hours) * 60 + Number(minutes);
    if (total <= 14 * 60) return FixedOffsetZone.instance(sign === '-' ? -total : total);
  }
  if (/^(?:UTC|GMT|Z)$/i.test(name.trim())) return FixedOffsetZone.utcInstance;
  const zone = IANAZone.create(name.trim());
  if (zone.isValid) return zone;
  throw new Error(
    `The time zone “${name}” is not known; write a name such as Europe/Helsinki, or an offset such as UTC+2.`,
  );
}

/** How a time is refused that a clock which follows summer time never shows. */
const skippedWords = 'whose clocks skipped it';
export const isSkippedHour = (sentence: string): boolean => sentence.includes(skippedWords);

/** Looking a zone up costs microseconds; on a day that begins and ends with the same offset, once is enough. */
function offsetsOf(zone: Zone): (utcMs: number) => number {
  const days = new Map<number, number | null>();
  return (utcMs) => {
    const day = Math.floor(utcMs / dayMs);
    let offset = days.get(day);
    if (offset === undefined) {
      const [first, last] = [zone.offset(day * dayMs), zone.offset((day + 1) * dayMs)];
      offset = first === last ? first : null;
      days.set(day, offset);
    }
    return (offset ?? zone.offset(utcMs)) * minuteMs;
  };
}

const yearFirst =
  /^(\d{4})[-/.](\d{1,2})[-/.](\d{1,2})(?:[T ]+(\d{1,2}):(\d{2})(?::(\d{2})(?:[.,](\d{1,9}))?)?)?\s*(Z|[+-]\d{2}:?\d{2})?$/i;
const dayFirst = /^(\d{1,2})\.(\d{1,2})\.(\d{4})(?:[T ,]+(\d{1,2})[:.](\d{2})(?:[:.](\d{2}))?)?$/;
const slashed = /^\d{1,2}\/\d{1,2}\/\d{2,4}/;
const unixSeconds = /^\d{9,10}(?:\.\d+)?$/;
const unixMs = /^\d{12,13}$/;

/** Which comes first; a year of four digits in front tells itself. */
export type DateOrder = 'ymd' | 'dmy' | 'mdy';
const numeric =
  /^(\d{1,2})([./-])(\d{1,2})\2(\d{2}|\d{4})(?:[T ,]+(\d{1,2})[:.](\d{2})(?:[:.](\d{2}))?\s*([ap])?\.?(?:m\.?)?)?$/i;

export interface Written {
  /** As if the clock had shown UTC. */
  readonly localMs: number;
  /** Where the text says its offset itself. */
  readonly offsetMs?: number;
}

const whole = (digits: string | undefined): number => (digits === undefined ? 0 : Number(digits));

function assemble([y, mo, d, h, mi, s, ms]: [number, number, number, number, number, number, number]):
  | number
  | null {
  const localMs = Date.UTC(y, mo - 1, d, h, mi, s, ms);
  const back = new Date(localMs);
  // Date.UTC turns 31 April into 1 May; a file that says so is faulty.
  const real = back.getUTCMonth() === mo - 1 && back.getUTCDate() === d && h < 24 && mi < 60 && s < 60;
  return real ? localMs : null;
}

/** A date of two-digit parts in a known order, with a time of day of 24 or twice 12 hours; null where it is none. */
export function readNumericDate(text: string, order: DateOrder): Written | null {
  const [, a, , b, y, h, mi, s, half] = numeric.exec(text.trim()) ?? [];
  if (order === 'ymd' || !a || !b || !y) return null;
  const year = y.length === 2 ? 2000 + Number(y) : Number(y);
  const [day, month] = order === 'dmy' ? [a, b] : [b, a];
  const hour = half ? (whole(h) % 12) + (half.toLowerCase() === 'p' ? 12 : 0) : whole(h);
  if (half && (whole(h) < 1 || whole(h) > 12)) return null;
  const localMs = assemble([year, Number(month), Number(day), hour, whole(mi), whole(s), 0]);
  return localMs === null ? null : { localMs };
}

function parse(text: string, order: DateOrder | undefined): Written | string {
  if (order !== undefined && numeric.test(text)) {
    return readNumericDate(text, order) ?? `“${text}” is not a date and time that exists`;
  }
  const iso = yearFirst.exec(text);
  if (iso) {
    const [, y, mo, d, h, mi, s, fraction, offset] = iso;
    const ms = Math.floor(Number(`0.${fraction ?? '0'}`) * 1000);
    const localMs = assemble([whole(y), whole(mo), whole(d), whole(h), whole(mi), whole(s), ms]);
    if (localMs === null) return `“${text}” is not a date and time that exists`;
    if (!offset) return { localMs };
    if (offset.toUpperCase() === 'Z') return { localMs, offsetMs: 0 };
    const minutes = Number(offset.slice(1, 3)) * 60 + Number(offset.slice(-2));
    return { localMs, offsetMs: (offset.startsWith('-') ? -minutes : minutes) * minuteMs };
  }
  const dotted = dayFirst.exec(text);
  if (dotted) {
    const [, d, mo, y, h, mi, s] = dotted;
    const localMs = assemble([whole(y), whole(mo), whole(d), whole(h), whole(mi), whole(s), 0]);
    return localMs === null ? `“${text}” is not a date and time that exists` : { localMs };
  }
  if (unixSeconds.test(text)) return { localMs: Math.round(Number(text) * 1000), offsetMs: 0 };
  if (unixMs.test(text)) return { localMs: Number(text), offsetMs: 0 };
  if (slashed.test(text)) return `“${text}” may be day first or month first; write dates as YYYY-MM-DD`;
  return `“${text}” is not a time; write YYYY-MM-DD HH:mm:ss`;
}

/**
 * Reads times in the order of the file. In autumn a clock that follows summer time shows one hour twice: the first
 * showing is meant until the times step back, then the second.
 * @param order of dates whose year does not come first; absent: only what cannot be taken for another is read
 * @param beforeMs the last time read before, where reading goes on
 */
export function timeReader(zone: Zone, order?: DateOrder, beforeMs: number | null = null): ReadTime {
  const offsetAt = offsetsOf(zone);
  let before = beforeMs ?? Number.NEGATIVE_INFINITY;

  function toUtc(localMs: number): number | null {
    // The offsets a few hours to each side are the two that can hold here.
    const [early, late] = [offsetAt(localMs - 14 * 60 * minuteMs), offsetAt(localMs + 14 * 60 * minuteMs)];
    const possible = [localMs - early, localMs - late].filter((utcMs) => utcMs + offsetAt(utcMs) === localMs);
    const [first, second] = possible.sort((a, b) => a - b);
    if (first === undefined) return null;
    return second !== undefined && first <= before && second > before ? second : first;
  }

  return (text) => {
    const written = parse(text.trim(), order);
    if (typeof written === 'string') return written;
    const { localMs, offsetMs } = written;
    const timeMs = offsetMs === undefined ? toUtc(localMs) : localMs - offsetMs;
    if (timeMs === null)
      return `“${text}” does not exist in ${zone.name}, ${skippedWords}; another time zone may be meant`;
    before = timeMs;
    return timeMs;
  };
}
