/** The coming days as the chart draws them: a fan for each quantity, begun where the past leaves off. */
import type { BestDates, Climate, Fan, Forecast, Pitch, Register } from '../../server/contract/index.ts';
import { dayMs } from '../words/times.ts';
import { type Column, pitchColumns } from './columns.ts';

/** Median of each coming day with the band that holds eight of ten. */
export interface FanColumns {
  readonly timesMs: readonly number[];
  readonly low: Column;
  readonly middle: Column;
  readonly high: Column;
}

export interface Coming {
  readonly todayMs: number;
  readonly untilMs: number;
  /** Of the air at the board: between that of the room and that inside, where both are measured. */
  readonly humidityPct: FanColumns;
  readonly moisturePct: FanColumns;
  readonly offsetCents: FanColumns;
  /** Middles of the weeks that are best for a tuning. */
  readonly bestMs: readonly number[];
}

interface Sources {
  readonly forecast: Forecast | null;
  readonly best: BestDates | null;
  readonly climate: Climate;
  readonly pitch: Pitch;
  readonly register: Register;
  readonly nowMs: number;
}

interface Edge {
  readonly low: number;
  readonly middle: number;
  readonly high: number;
}

/** The last value of a column, if it is of today; after a silence the fan stands apart, as the gap it is. */
function latest(timesMs: readonly number[], column: Column, nowMs: number): number | null {
  const index = column.findLastIndex((value) => value !== null);
  const stepMs = (timesMs[1] ?? 0) - (timesMs[0] ?? 0);
  const atMs = timesMs[index];
  if (atMs === undefined || nowMs - atMs > Math.max(1.5 * dayMs, 1.5 * stepMs)) return null;
  return column[index] ?? null;
}

function mean(values: readonly number[]): number | null {
  return values.length === 0 ? null : values.reduce((sum, value) => sum + value, 0) / values.length;
}

/** Mean of the last day: what is foretold are means of days, and an hour stands beside its day by chance. */
function lastDay(timesMs: readonly number[], column: Column, nowMs: number): number | null {
  const values = column.filter(
    (value, i): value is number => value !== null && nowMs - (timesMs[i] ?? 0) < dayMs,
  );
  if (values.length === 0) return latest(timesMs, column, nowMs);
  return mean(values);
}

const point = (value: number | null): Edge | null =>
  value === null ? null : { low: value, middle: value, high: value };

function fanFrom(
  edge: Edge | null,
  nowMs: number,
  timesMs: readonly number[],
  fan: Fan | undefined,
): FanColumns {
  // A forecast may be hours old: days that have come to pass are the past's to tell.
  const first = timesMs.findIndex((timeMs) => timeMs > nowMs);
  const begin = edge ? [edge] : [];
  const column = (of: keyof Edge): Column => [
    ...begin.map((one) => one[of]),
    ...(first < 0 || !fan ? [] : fan[of].slice(first)),
  ];
  return {
    timesMs: [...begin.map(() => nowMs), ...(first < 0 ? [] : timesMs.slice(first))],
    low: column('low'),
    middle: column('middle'),
    high: column('high'),
  };
}

/** null where nothing can be foretold. */
export function comingOf({ forecast, best, climate, pitch, register, nowMs }: Sources): Coming | null {
  const untilMs = forecast?.timesMs.at(-1);
  if (!forecast || untilMs === undefined || untilMs <= nowMs) return null;
  const { timesMs } = forecast;
  const airs = [climate.room, climate.inside].filter((air) => air !== null);
  const [pitchTimes, lower, offset, upper] = pitchColumns(pitch, register);
  const [low, middle, high] = [lower, offset, upper].map((column) => latest(pitchTimes, column, nowMs));
  const known = typeof low === 'number' && typeof middle === 'number' && typeof high === 'number';
  return {
    todayMs: nowMs,
    untilMs,
    humidityPct: fanFrom(
      point(mean(airs.flatMap((air) => lastDay(climate.timesMs, air.humidityPct, nowMs) ?? []))),
      nowMs,
      timesMs,
      forecast.humidityPct,
    ),
    moisturePct: fanFrom(
      point(latest(climate.timesMs, climate.board.moisturePct, nowMs)),
      nowMs,
      timesMs,
      forecast.moisturePct,
    ),
    offsetCents: fanFrom(
      known ? { low, middle, high } : null,
      nowMs,
      timesMs,
      forecast.registers.find((one) => one.register === register)?.offsetCents,
    ),
    bestMs: (best?.dates ?? []).map(({ atMs }) => atMs).filter((atMs) => atMs > nowMs && atMs <= untilMs),
  };
}

/** Edges and median of a fan within a stretch of time, for the reach of an axis. */
export function within(
  { timesMs, low, middle, high }: FanColumns,
  fromMs: number,
  toMs: number,
): [Column, Column, Column] {
  const shown = (column: Column) =>
    column.filter((_, i) => (timesMs[i] ?? 0) >= fromMs && (timesMs[i] ?? 0) <= toMs);
  return [shown(low), shown(middle), shown(high)];
}
