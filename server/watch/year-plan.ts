/**
 * The hours the coming year asks for: each instrument's tunings at its best dates, or at the interval of its use where
 * those are not known, its inspections, and the calls that are open now; with the minutes each usually takes. Pure.
 */
import { DateTime } from 'luxon';
import type { Use, YearPlan } from '../contract/index.ts';
import { nobodySaid, type WayTo, waysSentence } from './ways.ts';
import { planSentences } from './year-gives.ts';

export interface PlannedInstrument {
  readonly id: string;
  readonly name: string;
  readonly venueId: string;
  readonly venueName: string;
  readonly use: Use;
  readonly tunings: number;
  readonly inspections: number;
  readonly tuningMinutes: number;
  readonly lastTunedMs: number | null;
  readonly lastInspectedMs: number | null;
  /** A tuning that is asked for already, and when; the first of the year's. */
  readonly openTuningMs: number | null;
  /** null: not known. */
  readonly bestDatesMs: readonly number[] | null;
}

/** A call that is open now and is not one of the year's own tunings or inspections. */
export interface OpenWork {
  readonly venueId: string;
  readonly venueName: string;
  readonly kind: 'tunings' | 'others';
  readonly atMs: number;
  readonly minutes: number;
}

/** One piece of work in its month: what the sums and the sentences are made of. */
export interface Piece {
  /** 0 is this month. */
  readonly month: number;
  readonly venueId: string;
  readonly venueName: string;
  readonly kind: 'tunings' | 'inspections' | 'others';
  readonly minutes: number;
  readonly use: Use | null;
}

const inspectionMinutes = 75;
/** When heating has just come on or gone off a tuning does not last (common practice): what falls there moves past it. */
const poorMonths = [4, 5, 10, 11];
const yearMs = 365.25 * 86_400_000;
/** So soon after a tuning that is asked for now no best date makes another. */
const apartMs = 45 * 86_400_000;

/** Dates of a service over the coming year, spaced from the last one; what is overdue comes first. */
function spaced(lastMs: number | null, aYear: number, nowMs: number): number[] {
  if (aYear <= 0) return [];
  const step = yearMs / aYear;
  const first = Math.max(nowMs, (lastMs ?? nowMs - step) + step);
  return Array.from({ length: Math.ceil(aYear) }, (_, i) => first + i * step).filter(
    (one) => one < nowMs + yearMs,
  );
}

function piecesOf(one: PlannedInstrument, start: DateTime, nowMs: number): Piece[] {
  const { venueId, venueName, use } = one;
  const at = monthIn(start);
  const tuning = (month: number): Piece => {
    return { month, venueId, venueName, kind: 'tunings', minutes: one.tuningMinutes, use };
  };
  const inspections =
    one.lastInspectedMs === null
      ? []
      : spaced(one.lastInspectedMs, one.inspections, nowMs).map((ms) => inspectionOf(one, at(ms)));
  const open = one.openTuningMs === null ? [] : [Math.max(nowMs, one.openTuningMs)];
  const afterMs = open.length === 0 ? nowMs : (open[0] ?? nowMs) + apartMs;
  if (one.bestDatesMs) {
    const best = one.bestDatesMs.filter((ms) => ms >= afterMs || open.length === 0);
    const later = best.slice(0, Math.max(0, Math.ceil(one.tunings) - open.length));
    return [...[...open, ...later].map((ms) => tuning(at(ms))), ...inspections];
  }
  const lastMs = open[0] ?? one.lastTunedMs;
  const later = spaced(lastMs, one.tunings, nowMs).slice(
    0,
    Math.max(0, Math.ceil(one.tunings) - open.length),
  );
  // Whoever comes more often comes in every season.
  const isPoor = (month: number) =>
    one.tunings <= 3 && poorMonths.includes(start.plus({ months: month }).month);
  const moved = later.map((ms) => {
    const month = at(ms);
    const good = Array.from({ length: 12 - month }, (_, i) => month + i).find((next) => !isPoor(next));
    return tuning(good ?? month);
  });
  return [...open.map((ms) => tuning(at(ms))), ...moved, ...inspections];
}

const inspectionOf = ({ venueId, venueName, use }: PlannedInstrument, month: number): Piece => ({
  ...{ month, venueId, venueName, kind: 'inspections', minutes: inspectionMinutes, use },
});

/** Where no inspection is on record nothing is due: it goes along with that tuning of the year whose month is emptiest. */
function firstInspection(one: PlannedInstrument, own: readonly Piece[], all: readonly Piece[]): Piece | null {
  if (one.lastInspectedMs !== null || one.inspections <= 0) return null;
  const minutesIn = (month: number) =>
    all.filter((piece) => piece.month === month).reduce((sum, { minutes }) => sum + minutes, 0);
  const [month] = own
    .filter(({ kind }) => kind === 'tunings')
    .map((piece) => piece.month)
    .sort((a, b) => minutesIn(a) - minutesIn(b));
  return month === undefined ? null : inspectionOf(one, month);
}

const monthIn =
  (start: DateTime) =>
  (ms: number): number => {
    const date = DateTime.fromMillis(ms, { zone: 'utc' });
    return Math.min(11, Math.max(0, (date.year - start.year) * 12 + date.month - start.month));
  };

/** @param availableHours at the instruments, each month; 0: not said */
export function yearPlanOf(
  instruments: readonly PlannedInstrument[],
  openWork: readonly OpenWork[],
  availableHours: number,
  nowMs: number,
  wayTo: WayTo = nobodySaid,
): Omit<YearPlan, 'pending'> {
  const start = DateTime.fromMillis(nowMs, { zone: 'utc' }).startOf('month');
  const at = monthIn(start);
  const own = instruments.map((one) => piecesOf(one, start, nowMs));
  const pieces: Piece[] = [
    ...own.flat(),
    ...openWork.map((one): Piece => ({ ...one, month: at(Math.max(nowMs, one.atMs)), use: null })),
  ];
  instruments.forEach((one, i) => {
    const inspection = firstInspection(one, own[i] ?? [], pieces);
    if (inspection) pieces.push(inspection);
  });
  const restOfMonth = 1 - (nowMs - start.toMillis()) / start.plus({ months: 1 }).diff(start).toMillis();
  const months = Array.from({ length: 12 }, (_, i) => {
    const venues = venuesOf(pieces.filter((one) => one.month === i));
    return {
      month: start.plus({ months: i }).toISODate() ?? '',
      hours: venues.reduce((sum, one) => sum + one.hours, 0),
      // Of this month only what is left of it.
      available: i === 0 ? availableHours * restOfMonth : availableHours,
      venues,
    };
  });
  return {
    months,
    sentences: [...planSentences(months, pieces, availableHours), waysSentence(pieces, wayTo)].filter(
      (one) => one !== null,
    ),
    instruments: instruments.map(({ id, name, venueId, tunings, tuningMinutes, bestDatesMs }) => ({
      id,
      name,
      venueId,
      tunings: Math.round(tunings),
      tuningMinutes,
      by: bestDatesMs ? 'best dates' : 'interval',
    })),
  };
}

function venuesOf(pieces: readonly Piece[]): YearPlan['months'][number]['venues'] {
  const venues = new Map<string, YearPlan['months'][number]['venues'][number]>();
  for (const { venueId, venueName, kind, minutes } of pieces) {
    const venue = venues.get(venueId) ?? {
      ...{ venueId, venueName, tunings: 0, inspections: 0, others: 0, hours: 0 },
    };
    venue[kind] += 1;
    venue.hours += minutes / 60;
    venues.set(venueId, venue);
  }
  return [...venues.values()].sort((a, b) => b.hours - a.hours);
}
