/**
 * What to tell a person now, if anything, and because of what. Pure: it takes the news and the clock and returns a
 * reason either way. The measure is restraint: at once only what cannot wait, else one digest a day, else silence.
 */
import { DateTime } from 'luxon';
import type { Class0to3, Notice, PersonBody } from '../../contract/index.ts';
import { isUrgent } from '../advice.ts';
import { briefly } from './briefly.ts';

export interface NewsItem {
  readonly seq: number;
  readonly atMs: number;
  readonly kind: string;
  readonly severity: Class0to3;
  readonly notice: Notice;
}

export interface Told {
  /** When the digest was last made or set aside. */
  readonly digestMs: number;
  /** The last message outside a digest, and the last that reminded. */
  readonly lastAtOnceMs: number | null;
  readonly lastReminderMs: number | null;
}

export type Plan =
  | {
      readonly kind: 'at once' | 'digest';
      readonly because: string;
      /** Begun or grown worse and still open; passed; open before and told again. */
      readonly begun: readonly Notice[];
      readonly passed: readonly Notice[];
      readonly reminded: readonly Notice[];
    }
  /** Nothing is sent; the news is done with, or waits. */
  | { readonly kind: 'set aside'; readonly because: string }
  /** heldBack: it could not wait, and yet does. */
  | { readonly kind: 'wait'; readonly because: string; readonly heldBack?: boolean };

/** Time for what belongs together to arrive before it is told. */
const gatherMs = 2 * 60_000;
/** Ends alone are told with the next news, or after this long. */
const endsWaitMs = 7 * 86_400_000;

export function isQuietAt(
  { quietFromHour: from, quietUntilHour: until, timeZone }: PersonBody,
  nowMs: number,
): boolean {
  const { hour } = DateTime.fromMillis(nowMs, { zone: timeZone });
  return from < until ? hour >= from && hour < until : from > until ? hour >= from || hour < until : false;
}

/** The first digest hour after a time, in the person's own zone, right across a clock change. */
export function nextDigestMs({ digestHour, timeZone }: PersonBody, afterMs: number): number {
  const after = DateTime.fromMillis(afterMs, { zone: timeZone });
  const today = after.set({ hour: digestHour, minute: 0, second: 0, millisecond: 0 });
  return (today > after ? today : today.plus({ days: 1 }).set({ hour: digestHour })).toMillis();
}

const unique = (notices: readonly Notice[]): Notice[] => [
  ...new Map(notices.map((one) => [one.id, one])).values(),
];
const isOpen = (notice: Notice, nowMs: number): boolean =>
  notice.state !== 'over' && (notice.snoozedUntilMs ?? 0) <= nowMs;

/**
 * @param news since the person was last told, ascending
 * @param open everything open in the person's scope, told or not
 */
export function plan(
  person: PersonBody,
  news: readonly NewsItem[],
  open: readonly Notice[],
  told: Told,
  nowMs: number,
): Plan {
  const quiet = isQuietAt(person, nowMs);
  const begun = unique(
    news
      .filter((one) => (one.kind === 'begins' || one.kind === 'worse') && isOpen(one.notice, nowMs))
      .map((one) => one.notice),
  );
  const urgent = news.filter(
    (one) => begun.includes(one.notice) && isUrgent(one.notice) && !one.notice.acknowledged,
  );
  // What began and ended untold is no news; of what was told, its end is, with the next message.
  const untold = new Set(news.filter(({ kind }) => kind === 'begins').map(({ notice }) => notice.id));
  const passed = unique(
    news.filter(({ notice }) => notice.state === 'over' && !untold.has(notice.id)).map((one) => one.notice),
  );
  const [first] = urgent;
  if (first && person.atOnce === 'urgent') {
    const mayCostTheDay = urgent.some((one) => one.notice.severity === 3);
    const day = (ms: number) => DateTime.fromMillis(ms, { zone: person.timeZone }).toISODate();
    const toldToday = told.lastAtOnceMs !== null && day(told.lastAtOnceMs) === day(nowMs);
    if (nowMs - first.atMs < gatherMs)
      return { kind: 'wait', because: 'what belongs to it may still arrive' };
    if (!quiet && !toldToday) {
      const because = `“${briefly(first.notice, person.role)}” cannot wait for the digest`;
      return { kind: 'at once', because, begun, passed, reminded: [] };
    }
    if (mayCostTheDay && !toldToday) {
      const because = `“${briefly(first.notice, person.role)}” cannot wait for the end of the quiet hours`;
      return { kind: 'at once', because, begun, passed, reminded: [] };
    }
    if (nowMs < nextDigestMs(person, told.digestMs)) {
      const what = `“${briefly(first.notice, person.role)}” waits`;
      const because = toldToday
        ? `one message at once was sent today already: ${what} for the next`
        : `these are quiet hours: ${what} for their end`;
      return { kind: 'wait', because, heldBack: true };
    }
  }
  if (nowMs < nextDigestMs(person, told.digestMs)) return { kind: 'wait', because: 'its hour has not come' };
  if (quiet) return { kind: 'wait', because: 'these are quiet hours' };
  const reminded = dueAgain(person, open, begun, told, nowMs);
  if (begun.length > 0) {
    return { kind: 'digest', because: 'something began since the last one', begun, passed, reminded };
  }
  if (reminded.length > 0) {
    return { kind: 'digest', because: 'what is still open is told again', begun, passed, reminded };
  }
  const oldest = news[0]?.atMs ?? nowMs;
  if (passed.length > 0 && nowMs - oldest >= endsWaitMs) {
    return { kind: 'digest', because: 'what was told has passed', begun, passed, reminded };
  }
  if (passed.length > 0)
    return { kind: 'wait', because: 'only ends are new; they are told with the next news' };
  return { kind: 'set aside', because: 'nothing is new' };
}

/** Acknowledged or not, what stays unsolved is told again after one interval: oldest first. */
function dueAgain(
  { reminderDays }: PersonBody,
  open: readonly Notice[],
  begun: readonly Notice[],
  { lastReminderMs }: Told,
  nowMs: number,
): Notice[] {
  if (reminderDays === 0) return [];
  const afterMs = reminderDays * 86_400_000;
  if (lastReminderMs !== null && nowMs - lastReminderMs < afterMs) return [];
  return open
    .filter(
      (one) =>
        isOpen(one, nowMs) && nowMs - one.beganMs >= afterMs && !begun.some((other) => other.id === one.id),
    )
    .sort((a, b) => a.beganMs - b.beganMs);
}
