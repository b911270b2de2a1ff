/**
 * The hours the coming year asks for: each instrument's tunings and inspections at the interval of its use, with the
 * minutes it usually takes, put where a tuning lasts longest. Pure.
 */
import { DateTime } from 'luxon';
import type { YearPlan } from '../contract/index.ts';

export interface PlannedInstrument {
  readonly venueName: string;
  readonly tunings: number;
  readonly inspections: number;
  readonly tuningMinutes: number;
  readonly lastTunedMs: number | null;
  readonly lastInspectedMs: number | null;
}

const inspectionMinutes = 75;
/** Weeks right after heating came on or went off are poor ones (common practice): what falls there moves on a month. */
const poorMonths = [4, 5, 10, 11];
const yearMs = 365.25 * 86_400_000;

/** Dates of a service over the coming year, spaced from the last one; what is overdue comes first. */
function dates(lastMs: number | null, aYear: number, nowMs: number): number[] {
  if (aYear <= 0) return [];
  const step = yearMs / aYear;
  const first = Math.max(nowMs, (lastMs ?? nowMs - step) + step);
  return Array.from({ length: Math.ceil(aYear) }, (_, i) => first + i * step).filter(
    (one) => one < nowMs + yearMs,
  );
}

export function yearPlanOf(
  instruments: readonly PlannedInstrument[],
  availableHours: number,
  nowMs: number,
): YearPlan {
  const start = DateTime.fromMillis(nowMs, { zone: 'utc' }).startOf('month');
  const months = Array.from({ length: 12 }, (_, i) => ({
    month: start.plus({ months: i }).toISODate() ?? '',
    number: start.plus({ months: i }).month,
    venues: new Map<string, { tunings: number; inspections: number; hours: number }>(),
  }));
  const at = (ms: number) => {
    const date = DateTime.fromMillis(ms, { zone: 'utc' });
    return Math.min(11, Math.max(0, (date.year - start.year) * 12 + date.month - start.month));
  };
  const put = (month: number, venueName: string, kind: 'tunings' | 'inspections', minutes: number) => {
    const venue = months[month]?.venues.get(venueName) ?? { tunings: 0, inspections: 0, hours: 0 };
    venue[kind] += 1;
    venue.hours += minutes / 60;
    months[month]?.venues.set(venueName, venue);
  };
  for (const one of instruments) {
    for (const ms of dates(one.lastTunedMs, one.tunings, nowMs)) {
      const month = at(ms);
      const poor = one.tunings <= 3 && poorMonths.includes(months[month]?.number ?? 0) && month < 11;
      put(poor ? month + 1 : month, one.venueName, 'tunings', one.tuningMinutes);
    }
    for (const ms of dates(one.lastInspectedMs, one.inspections, nowMs)) {
      put(at(ms), one.venueName, 'inspections', inspectionMinutes);
    }
  }
  const planned = months.map(({ month, venues }) => {
    const list = [...venues].map(([venueName, venue]) => ({ venueName, ...venue }));
    const hours = list.reduce((sum, one) => sum + one.hours, 0);
    return { month, hours, available: availableHours, venues: list.sort((a, b) => b.hours - a.hours) };
  });
  return { months: planned, sentences: sentencesOf(planned, availableHours) };
}

function sentencesOf(months: YearPlan['months'], availableHours: number): string[] {
  const total = months.reduce((sum, one) => sum + one.hours, 0);
  const asked = `The coming year asks for ${Math.round(total)}\u00a0hours at the instruments, without the ways between them.`;
  if (availableHours === 0) return [asked];
  const over = months.filter((one) => one.hours > availableHours);
  const name = (month: string) =>
    DateTime.fromISO(month, { zone: 'utc' }).toFormat('LLLL', { locale: 'en-GB' });
  if (over.length === 0) {
    return [asked, `No month asks for more than the ${availableHours}\u00a0hours there are.`];
  }
  const missing = over.reduce((sum, one) => sum + one.hours - availableHours, 0);
  return [
    asked,
    `${over.map((one) => name(one.month)).join(', ')} ${over.length === 1 ? 'asks' : 'ask'} for more than the ${availableHours}\u00a0hours there are.`,
    missing > 12 * availableHours - total
      ? `${Math.round(missing)}\u00a0hours would have to give: fewer tunings of practice instruments, more hands, or steadier rooms.`
      : `${Math.round(missing)}\u00a0hours can move to quieter months of the year.`,
  ];
}
