/** Dates and spans in words, always in a venue's own time zone. */
import { nbsp } from './numbers.ts';
import { wallTime } from './zoned.ts';

export const dayMs = 86_400_000;

const formats = new Map<string, Intl.DateTimeFormat>();

function say(timeMs: number, timeZone: string, options: Intl.DateTimeFormatOptions): string {
  const key = `${timeZone} ${JSON.stringify(options)}`;
  let format = formats.get(key);
  if (!format) {
    format = new Intl.DateTimeFormat('en-GB', { ...options, timeZone, hourCycle: 'h23' });
    formats.set(key, format);
  }
  return format.format(timeMs).replaceAll(' ', nbsp);
}

/** The year is said where "12 March" could be taken for the wrong one. */
function needsYear(timeMs: number, nowMs: number): boolean {
  return Math.abs(timeMs - nowMs) > 300 * dayMs;
}

/** "16 Sep", "16 Sep 2024". */
export function shortDay(timeMs: number, timeZone: string, nowMs = Date.now()): string {
  return say(timeMs, timeZone, {
    day: 'numeric',
    month: 'short',
    ...(needsYear(timeMs, nowMs) ? { year: 'numeric' } : {}),
  });
}

/** "16 September", "16 September 2024". */
export function longDay(timeMs: number, timeZone: string, nowMs = Date.now()): string {
  return say(timeMs, timeZone, {
    day: 'numeric',
    month: 'long',
    ...(needsYear(timeMs, nowMs) ? { year: 'numeric' } : {}),
  });
}

/** "Thursday 26 November": a day to go somewhere. */
export function weekday(timeMs: number, timeZone: string, nowMs = Date.now()): string {
  return `${say(timeMs, timeZone, { weekday: 'long' })}${nbsp}${longDay(timeMs, timeZone, nowMs)}`;
}

export function clock(timeMs: number, timeZone: string): string {
  return say(timeMs, timeZone, { hour: '2-digit', minute: '2-digit' });
}

/** "Tue 12 Nov, 14:02": what a chart's cursor stands on. */
export function moment(timeMs: number, timeZone: string): string {
  const day = say(timeMs, timeZone, { weekday: 'short', day: 'numeric', month: 'short', year: 'numeric' });
  return `${day.replaceAll(',', '')}, ${clock(timeMs, timeZone)}`;
}

function dayNumber(timeMs: number, timeZone: string): number {
  const { year, month, day } = wallTime(timeMs, timeZone);
  return Date.UTC(year, month - 1, day) / dayMs;
}

/** "Mon 5 Jan 2026, 14:10 to 14:20": what happened within a stretch; one moment where both read the same. */
export function moments(fromMs: number, untilMs: number, timeZone: string): string {
  const [first, last] = [moment(fromMs, timeZone), moment(untilMs, timeZone)];
  if (first === last) return first;
  const sameDay = longDay(fromMs, timeZone) === longDay(untilMs, timeZone);
  return `${first} to ${sameDay ? clock(untilMs, timeZone) : last}`;
}

/** "14:02", "yesterday, 14:02", "Sunday", "12 November": as near as a reader would say it. */
export function nearDay(timeMs: number, timeZone: string, nowMs = Date.now()): string {
  const days = dayNumber(nowMs, timeZone) - dayNumber(timeMs, timeZone);
  if (days === 0) return clock(timeMs, timeZone);
  if (days === 1) return `yesterday, ${clock(timeMs, timeZone)}`;
  if (days > 1 && days < 7) return say(timeMs, timeZone, { weekday: 'long' });
  return longDay(timeMs, timeZone, nowMs);
}

/** "8 to 15 Dec", "from 8 Dec": when a visit may be made. */
export function span(fromMs: number, untilMs: number | null, timeZone: string, nowMs = Date.now()): string {
  // The service's clock and the reader's differ a little; and "from today" is "now".
  const begun = fromMs <= nowMs + dayMs / 2;
  if (untilMs === null) return begun ? 'from now on' : `from ${shortDay(fromMs, timeZone, nowMs)}`;
  if (begun) return `by ${shortDay(untilMs, timeZone, nowMs)}`;
  return `${shortDay(fromMs, timeZone, nowMs)} to ${shortDay(untilMs, timeZone, nowMs)}`;
}

/** A length of time, in its two or fewer telling units: "40 s", "3 min", "5 h", "2 days". */
export function lasting(ms: number): string {
  const seconds = Math.max(0, Math.round(ms / 1000));
  if (seconds < 100) return `${seconds}${nbsp}s`;
  const inMinutes = Math.round(seconds / 60);
  if (inMinutes < 100) return `${inMinutes}${nbsp}min`;
  const hours = Math.round(inMinutes / 60);
  if (hours < 48) return `${hours}${nbsp}h`;
  const days = Math.round(hours / 24);
  if (days < 100) return `${days}${nbsp}days`;
  return `${Math.round(days / 30.44)}${nbsp}months`;
}
