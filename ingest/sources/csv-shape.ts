/** How a logger's file is written, guessed from its beginning: what cuts it, its decimal sign, its dates, its columns. */
import { parse } from 'csv-parse/sync';
import { delimiters, findColumns } from './csv-columns.ts';
import { type DateOrder, readNumericDate } from './csv-time.ts';

export interface CsvShape {
  readonly delimiter: (typeof delimiters)[number];
  readonly decimalComma: boolean;
  readonly dateOrder: DateOrder;
  /** IANA name or fixed offset; times that carry an offset of their own keep it. */
  readonly timeZone: string;
  /** Line of the titles, from 1; what stands above is skipped. 0: there are no titles. */
  readonly titleLine: number;
  /** Positions of the columns, from 0. */
  readonly time: number;
  /** Time of day, where it stands apart from the date. */
  readonly clock: number | null;
  readonly humidity: number | null;
  readonly temperature: number | null;
  readonly fahrenheit: boolean;
}

export type Guess = Omit<CsvShape, 'timeZone'> & {
  readonly titles: readonly string[];
  /** False where day and month could be either way round. */
  readonly sureOfDates: boolean;
};

const linesLookedAt = 60;
const dayMs = 86_400_000;

/** Cells of each line; never throws: what is no CSV is one cell. */
export function cellsOf(text: string, delimiter: string): { cells: string[]; line: number }[] {
  try {
    const records = parse(text, {
      delimiter,
      relax_column_count: true,
      relax_quotes: true,
      skip_empty_lines: true,
      info: true,
      max_record_size: 100_000,
    }) as unknown as { record: string[]; info: { lines: number } }[];
    return records.map(({ record, info }) => ({ cells: record, line: info.lines }));
  } catch {
    return text
      .split(/\r?\n|\r/)
      .map((line, i) => ({ cells: line.split(delimiter), line: i + 1 }))
      .filter(({ cells }) => cells.some((cell) => cell !== ''));
  }
}

interface Titled {
  readonly delimiter: (typeof delimiters)[number];
  readonly line: number;
  readonly titles: readonly string[];
  readonly rows: readonly string[][];
}

/** The first line whose titles say where time and air stand; else the first line that is cut into the most pieces. */
function titledIn(lines: readonly string[]): Titled {
  const text = (from: number) => lines.slice(from).join('\n');
  const rowsBelow = (delimiter: string, line: number): string[][] =>
    cellsOf(text(line), delimiter).map(({ cells }) => cells);
  for (const [i, line] of lines.entries()) {
    for (const delimiter of delimiters) {
      const titles = cellsOf(line, delimiter)[0]?.cells ?? [];
      if (titles.length < 2) continue;
      try {
        findColumns(titles, {});
        return { delimiter, line: i + 1, titles, rows: rowsBelow(delimiter, i + 1) };
      } catch {
        // Not this one.
      }
    }
  }
  const pieces = (delimiter: string) => Math.max(0, ...lines.map((line) => line.split(delimiter).length));
  const delimiter = delimiters.reduce((best, one) => (pieces(one) > pieces(best) ? one : best), ';' as const);
  const widest = lines.findIndex((line) => line.split(delimiter).length === pieces(delimiter));
  const titles = cellsOf(lines[widest] ?? '', delimiter)[0]?.cells ?? [];
  const areTitles = titles.every((title) => !/\d/.test(title));
  const line = areTitles ? widest + 1 : widest;
  return { delimiter, line, titles: areTitles ? titles : [], rows: rowsBelow(delimiter, line) };
}

const clockTime = /^\d{1,2}[:.]\d{2}(?:[:.]\d{2})?(?:\s*[ap]m)?$/i;
const hasClock = /\d[T ,]+\d{1,2}[:.]\d{2}/;

/** Day and month are told by a part over twelve; else by which way the times go on steadily. */
function orderOf(dates: readonly string[]): { order: DateOrder; sure: boolean } {
  if (dates.some((text) => /^\d{4}\D/.test(text) || /^\d{9,}/.test(text)))
    return { order: 'ymd', sure: true };
  const parts = dates.flatMap((text) => {
    const [, a, mark, b] = /^(\d{1,2})([./-])(\d{1,2})\2\d{2}/.exec(text) ?? [];
    return a && b ? [{ a: Number(a), b: Number(b), mark }] : [];
  });
  if (parts.some(({ a }) => a > 12)) return { order: 'dmy', sure: true };
  if (parts.some(({ b }) => b > 12)) return { order: 'mdy', sure: true };
  const stretch = (order: DateOrder): number => {
    const days = dates.flatMap((text) => readNumericDate(text, order)?.localMs ?? []).map((ms) => ms / dayMs);
    return days.slice(1).reduce((sum, day, i) => sum + Math.abs(day - (days[i] ?? day)), 0);
  };
  const [dmy, mdy] = [stretch('dmy'), stretch('mdy')];
  if (Math.abs(dmy - mdy) > 1) return { order: dmy < mdy ? 'dmy' : 'mdy', sure: true };
  // Nobody writes a month first with points.
  const pointed = parts.every(({ mark }) => mark === '.');
  return { order: 'dmy', sure: parts.length === 0 || pointed };
}

/** @param text the beginning of the file, some hundred lines */
export function guessShape(text: string): Guess {
  const lines = text
    .replace(/^\uFEFF/, '')
    .split(/\r?\n|\r/)
    .slice(0, linesLookedAt);
  const { delimiter, line, titles, rows } = titledIn(lines);
  const column = (at: number | null): string[] =>
    at === null ? [] : rows.map((row) => (row[at] ?? '').trim()).filter((cell) => cell !== '');
  let found = {
    time: 0,
    humidity: null as number | null,
    temperature: null as number | null,
    isFahrenheit: false,
  };
  try {
    found = findColumns(titles, {});
  } catch {
    // A person says which; the page asks.
  }
  let { time } = found;
  let clock: number | null = null;
  const apart = (at: number) => {
    const cells = column(at);
    return cells.length > 0 && cells.every((cell) => clockTime.test(cell));
  };
  const positions = titles.length > 0 ? titles.map((_, i) => i) : (rows[0]?.map((_, i) => i) ?? []);
  if (!column(time).some((cell) => hasClock.test(cell))) {
    clock = positions.find((at) => at !== time && apart(at)) ?? null;
    // The column titled for the time may be the clock's; the date then stands in another.
    if (apart(time)) {
      const date = positions.find((at) =>
        column(at).some((cell) => /^\d{1,4}[./-]\d{1,2}[./-]\d{1,4}$/.test(cell)),
      );
      if (date !== undefined) [time, clock] = [date, time];
    }
  }
  const numbers = [...column(found.humidity), ...column(found.temperature)];
  const { order, sure } = orderOf(column(time));
  return {
    delimiter,
    decimalComma: numbers.some((cell) => /^[+-]?\d+,\d+$/.test(cell)),
    dateOrder: order,
    titleLine: line,
    time,
    clock,
    humidity: found.humidity,
    temperature: found.temperature,
    fahrenheit: found.isFahrenheit,
    titles:
      titles.length > 0 ? titles.map((title) => title.trim()) : positions.map((at) => `column ${at + 1}`),
    sureOfDates: sure,
  };
}
