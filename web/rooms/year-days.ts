/** The days of a room's year, laid out by months; and the same month by month in figures, for whoever reads instead. */
import type { RoomToday } from '../../server/contract/index.ts';
import { percent } from '../words/numbers.ts';
import { dayMs, shortDay } from '../words/times.ts';

export interface Day {
  readonly timeMs: number;
  /** Of the month, 1 to 31. */
  readonly day: number;
  readonly humidityPct: number | null;
}

export interface Month {
  /** "Nov 2025" */
  readonly name: string;
  readonly days: readonly Day[];
}

const monthName = new Intl.DateTimeFormat('en-GB', { month: 'short', year: 'numeric', timeZone: 'UTC' });

/** Oldest first. Days of the strip are UTC days. */
export function monthsOf({ humidityPct, endMs }: RoomToday['strip']): Month[] {
  const lastMs = Math.floor((endMs - 1) / dayMs) * dayMs;
  const months = new Map<string, Day[]>();
  humidityPct.forEach((value, i) => {
    const timeMs = lastMs - (humidityPct.length - 1 - i) * dayMs;
    const name = monthName.format(timeMs);
    const day = { timeMs, day: new Date(timeMs).getUTCDate(), humidityPct: value };
    months.set(name, [...(months.get(name) ?? []), day]);
  });
  return [...months].map(([name, days]) => ({ name, days }));
}

export interface MonthFigures {
  readonly name: string;
  readonly leastPct: number;
  readonly meanPct: number;
  readonly mostPct: number;
  readonly daysWithin: number;
  readonly days: number;
}

export function figuresOf(
  { name, days }: Month,
  band: { readonly wishedLowPct: number; readonly wishedHighPct: number },
): MonthFigures | null {
  const known = days.map((one) => one.humidityPct).filter((one) => one !== null);
  if (known.length === 0) return null;
  return {
    name,
    leastPct: Math.min(...known),
    meanPct: known.reduce((sum, one) => sum + one, 0) / known.length,
    mostPct: Math.max(...known),
    daysWithin: known.filter((one) => one >= band.wishedLowPct && one <= band.wishedHighPct).length,
    days: known.length,
  };
}

/** What the year strip shows, in a sentence. */
export function yearWords({ humidityPct, endMs }: RoomToday['strip'], timeZone: string): string {
  let lowest = -1;
  let highest = -1;
  humidityPct.forEach((value, day) => {
    if (value === null) return;
    if (lowest < 0 || value < (humidityPct[lowest] ?? 0)) lowest = day;
    if (highest < 0 || value > (humidityPct[highest] ?? 0)) highest = day;
  });
  const [low, high] = [humidityPct[lowest] ?? null, humidityPct[highest] ?? null];
  if (low === null || high === null) return 'Humidity over the past year: nothing known yet.';
  const when = (day: number) => shortDay(endMs - (humidityPct.length - 1 - day) * dayMs, timeZone, endMs);
  return `Humidity over the past year: driest day ${when(lowest)} at ${percent(low)}, dampest ${when(highest)} at ${percent(high)}.`;
}
