/**
 * What the model has to beat, each fitted on the same past:
 * no change; the same instrument at the same season a year before; the calendar (what the season alone has done to the fleet);
 * and cents per %RH from the spot readings that technicians note.
 */
import { cholesky, solve } from './cholesky.ts';
import type { DriftObservation } from './observation.ts';
import { type Register, registers } from './registers.ts';

export const rivalNames = ['no change', 'same season last year', 'calendar', 'spot humidity'] as const;
export type RivalName = (typeof rivalNames)[number];

/** An interval with what was read of the humidity, by hand, at its two ends (%RH). */
export interface PastInterval {
  readonly observation: DriftObservation;
  readonly spotHumidityPct: { readonly from: number | null; readonly to: number | null };
}

export interface Rivals {
  /** Change (cents) each expects; `toMs` may be moved and the spot reading at the end replaced by the last one known. */
  expect(register: Register, interval: PastInterval): Record<RivalName, number>;
}

const msPerYear = 365.25 * 86_400_000;
const seasonDays = 45;
const fewest = 8;

function seasonOf(atMs: number): [number, number] {
  const angle = (2 * Math.PI * atMs) / msPerYear;
  return [Math.cos(angle), Math.sin(angle)];
}

/** What a season does between two dates, and time itself. */
function calendarRow({ observation: { fromMs, toMs } }: PastInterval): number[] {
  const [cosFrom, sinFrom] = seasonOf(fromMs);
  const [cosTo, sinTo] = seasonOf(toMs);
  return [cosTo - cosFrom, sinTo - sinFrom, (toMs - fromMs) / msPerYear];
}

function leastSquares(rows: readonly number[][], y: readonly number[]): Float64Array | null {
  const p = rows[0]?.length ?? 0;
  if (rows.length < fewest) return null;
  const a = new Float64Array(p * p);
  const b = new Float64Array(p);
  rows.forEach((row, k) => {
    for (let i = 0; i < p; i++) {
      b[i] = (b[i] as number) + (row[i] as number) * (y[k] as number);
      for (let j = 0; j < p; j++)
        a[i * p + j] = (a[i * p + j] as number) + (row[i] as number) * (row[j] as number);
    }
  });
  // A touch of ridge: early on, all visits may fall into the same two weeks of the year.
  for (let i = 0; i < p; i++) a[i * p + i] = (a[i * p + i] as number) * 1.01 + 1e-9;
  const lower = cholesky(a, p);
  return lower === null ? null : solve(lower, p, b);
}

const product = (row: readonly number[], b: Float64Array | null): number =>
  b === null ? 0 : row.reduce((sum, value, i) => sum + value * (b[i] as number), 0);

/** @param past intervals that had ended by then, of the whole fleet */
export function fitRivals(past: readonly PastInterval[]): Rivals {
  const calendar = new Map<Register, Float64Array | null>();
  const spot = new Map<Register, Float64Array | null>();
  for (const register of registers) {
    const measured = past.filter(({ observation }) => observation.changeCents[register] !== undefined);
    const cents = measured.map(({ observation }) => observation.changeCents[register] ?? 0);
    calendar.set(register, leastSquares(measured.map(calendarRow), cents));
    const withSpot = measured.flatMap((interval) => {
      const { from, to } = interval.spotHumidityPct;
      const change = interval.observation.changeCents[register];
      return from === null || to === null || change === undefined ? [] : [{ row: [to - from], change }];
    });
    spot.set(
      register,
      leastSquares(
        withSpot.map(({ row }) => row),
        withSpot.map(({ change }) => change),
      ),
    );
  }
  return {
    expect(register, interval) {
      const { observation, spotHumidityPct } = interval;
      const season = product(calendarRow(interval), calendar.get(register) ?? null);
      const { from, to } = spotHumidityPct;
      return {
        'no change': 0,
        'same season last year': lastYear(past, register, observation) ?? season,
        calendar: season,
        'spot humidity': from === null || to === null ? 0 : product([to - from], spot.get(register) ?? null),
      };
    },
  };
}

/** What this instrument did over an interval that ended within six weeks of a year before and lasted about as long. */
function lastYear(
  past: readonly PastInterval[],
  register: Register,
  observation: DriftObservation,
): number | null {
  const wanted = observation.toMs - msPerYear;
  const found = past.find(
    ({ observation: { instrument, fromMs, toMs, changeCents } }) =>
      instrument === observation.instrument &&
      changeCents[register] !== undefined &&
      Math.abs(toMs - wanted) < seasonDays * 86_400_000 &&
      Math.abs(toMs - fromMs - (observation.toMs - observation.fromMs)) < 1.5 * seasonDays * 86_400_000,
  );
  return found?.observation.changeCents[register] ?? null;
}
