/** How a logger's file is written, guessed from its beginning: what cuts it, its decimal sign, its dates, its columns. */
import { parse } from 'csv-parse/sync';
import { columnsNamed, delimiters, findColumns } from './csv-columns.ts';
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

type Delimiter = (typeof delimiters)[number];

interface Titled {
  readonly delimiter: Delimiter;
  readonly line: number;
  readonly titles: readonly string[];
  readonly rows: readonly string[][];
}

/** The sign that cuts the most lines into the same number of pieces, and the first line that is cut so. */
function evenCut(
  lines: readonly string[],
  asked: readonly Delimiter[],
): { delimiter: Delimiter; first: number } {
  let best = { delimiter: asked[0] ?? ';', first: -1, lines: 0, pieces: 1 };
  for (const delimiter of asked) {
    const byPieces = new Map<number, { first: number; lines: number }>();
    for (const [i, line] of lines.entries()) {
      const pieces = line.split(delimiter).length;
      const known = byPieces.get(pieces) ?? { first: i, lines: 0 };
      if (pieces > 1) byPieces.set(pieces, { ...known, lines: known.lines + 1 });
    }
    for (const [pieces, found] of byPieces) {
      if (found.lines > best.lines || (found.lines === best.lines && pieces > best.pieces))
        best = { delimiter, pieces, ...found };
    }
  }
  return best;
}

const titlesAt = (lines: readonly string[], delimiter: string, line: number): string[] =>
  cellsOf(lines[line - 1] ?? '', delimiter)[0]?.cells ?? [];

/** The first line whose titles say where time and air stand; else, where it is cut like the rows, a line without a digit. */
function titledIn(lines: readonly string[], asked: readonly Delimiter[]): Titled {
  const rowsBelow = (delimiter: string, line: number): string[][] =>
    cellsOf(lines.slice(line).join('\n'), delimiter).map(({ cells }) => cells);
  for (const i of lines.keys()) {
    for (const delimiter of asked) {
      const titles = titlesAt(lines, delimiter, i + 1);
      if (titles.length < 2) continue;
      try {
        findColumns(titles, {});
        return { delimiter, line: i + 1, titles, rows: rowsBelow(delimiter, i + 1) };
      } catch {
        // Not this one.
      }
    }
  }
  const { delimiter, first } = evenCut(lines, asked);
  const titles = titlesAt(lines, delimiter, first + 1);
  // No line is skipped for being odd: what cannot be read is told.
  const line = titles.length > 0 && titles.every((title) => !/\d/.test(title)) ? first + 1 : 0;
  return { delimiter, line, titles: line === 0 ? [] : titles, rows: rowsBelow(delimiter, line) };
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

const linesIn = (text: string): string[] =>
  text
    .replace(/^\uFEFF/, '')
    .split(/\r?\n|\r/)
    .slice(0, linesLookedAt);

const dateLike = /^\d{1,4}[./-]\d{1,2}[./-]\d{1,4}(?:\D|$)/;
const mostCells = (rows: readonly (readonly string[])[]): number =>
  Math.max(0, ...rows.map((row) => row.length));

/** What the columns are called by a line of titles that somebody has named; by their number where it has none. */
export function titlesIn(
  text: string,
  { delimiter, titleLine }: Pick<CsvShape, 'delimiter' | 'titleLine'>,
): string[] {
  const lines = linesIn(text);
  const titles = titleLine === 0 ? [] : titlesAt(lines, delimiter, titleLine);
  const below = cellsOf(lines.slice(titleLine).join('\n'), delimiter).map(({ cells }) => cells);
  return Array.from(
    { length: Math.max(titles.length, mostCells(below)) },
    (_, at) => titles[at]?.trim() || `column ${at + 1}`,
  );
}

/**
 * @param text the beginning of the file, some hundred lines
 * @param told what cuts its columns, where a person has said so
 */
export function guessShape(text: string, told?: Delimiter): Guess {
  const { delimiter, line, titles, rows } = titledIn(linesIn(text), told ? [told] : delimiters);
  const column = (at: number | null): string[] =>
    at === null ? [] : rows.map((row) => (row[at] ?? '').trim()).filter((cell) => cell !== '');
  const positions = Array.from({ length: Math.max(titles.length, mostCells(rows)) }, (_, at) => at);
  // What no title tells a person says; times also tell themselves.
  const found = columnsNamed(titles);
  const dated = positions.find((at) => column(at).some((cell) => dateLike.test(cell)));
  let time = found.time ?? dated ?? 0;
  let clock: number | null = null;
  const apart = (at: number) => {
    const cells = column(at);
    return cells.length > 0 && cells.every((cell) => clockTime.test(cell));
  };
  if (!column(time).some((cell) => hasClock.test(cell))) {
    clock = positions.find((at) => at !== time && apart(at)) ?? null;
    // The column titled for the time may be the clock's; the date then stands in another.
    if (apart(time) && dated !== undefined) [time, clock] = [dated, time];
  }
  const measured = [found.humidity, found.temperature].filter((at) => at !== null);
  const numbers = (measured.length > 0 ? measured : positions).flatMap(column);
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
    titles: titlesIn(text, { delimiter, titleLine: line }),
    sureOfDates: sure,
  };
}
