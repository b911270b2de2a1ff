/** Wall-clock time of a venue, whatever zone the reader's own device is set to. */

export interface WallTime {
  readonly year: number;
  /** 1-12 */
  readonly month: number;
  readonly day: number;
  readonly hour: number;
  readonly minute: number;
}

const formats = new Map<string, Intl.DateTimeFormat>();

function format(timeZone: string): Intl.DateTimeFormat {
  let known = formats.get(timeZone);
  if (!known) {
    known = new Intl.DateTimeFormat('en-GB', {
      timeZone,
      hourCycle: 'h23',
      year: 'numeric',
      month: 'numeric',
      day: 'numeric',
      hour: 'numeric',
      minute: 'numeric',
      second: 'numeric',
    });
    formats.set(timeZone, known);
  }
  return known;
}

/** What the clock on the venue's wall shows at an instant. */
export function wallTime(timeMs: number, timeZone: string): WallTime {
  const parts = new Map(
    format(timeZone)
      .formatToParts(timeMs)
      .map(({ type, value }) => [type, Number(value)]),
  );
  const of = (type: string) => parts.get(type as Intl.DateTimeFormatPartTypes) ?? 0;
  return { year: of('year'), month: of('month'), day: of('day'), hour: of('hour'), minute: of('minute') };
}

function asIfUtcMs(wall: WallTime): number {
  return Date.UTC(wall.year, wall.month - 1, wall.day, wall.hour, wall.minute);
}

/**
 * The instant at which the venue's clock shows `wall`. Fields may run over (day 32, month 13), as in Date.UTC.
 * In the hour that summer time skips, the instant an hour later; in the hour it repeats, the first of the two.
 */
export function instantMs(wall: WallTime, timeZone: string): number {
  const wanted = asIfUtcMs(wall);
  const offsetAt = (timeMs: number) =>
    asIfUtcMs(wallTime(timeMs, timeZone)) - Math.floor(timeMs / 60_000) * 60_000;
  // The offset a day before and a day after bracket any change; the earlier one is right until the change.
  const before = wanted - offsetAt(wanted - 86_400_000);
  const after = wanted - offsetAt(wanted + 86_400_000);
  for (const candidate of [before, after]) {
    if (asIfUtcMs(wallTime(candidate, timeZone)) === wanted) return candidate;
  }
  return before;
}

/** The value of an <input type="datetime-local">: "2026-11-25T14:02". */
export function toInput(timeMs: number, timeZone: string): string {
  return new Date(asIfUtcMs(wallTime(timeMs, timeZone))).toISOString().slice(0, 16);
}

/** Reads the value of an <input type="datetime-local">; null where it is empty or no date. */
export function fromInput(value: string, timeZone: string): number | null {
  const asUtc = Date.parse(`${value}Z`);
  if (Number.isNaN(asUtc)) return null;
  const date = new Date(asUtc);
  return instantMs(
    {
      year: date.getUTCFullYear(),
      month: date.getUTCMonth() + 1,
      day: date.getUTCDate(),
      hour: date.getUTCHours(),
      minute: date.getUTCMinutes(),
    },
    timeZone,
  );
}
