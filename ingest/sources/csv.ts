/** A logger's file: read as a stream, checked like any reading, stored in batches. Importing it again adds nothing. */
import { createReadStream } from 'node:fs';
import { open, stat } from 'node:fs/promises';
import { CsvError, parse } from 'csv-parse';
import { checkRange } from '../checks/range.ts';
import { checkTime } from '../checks/time.ts';
import { isName } from '../decode/senml.ts';
import type { Reading } from '../reading.ts';
import type { TimeSeries } from '../store/time-series.ts';
import { fahrenheitToC } from '../units.ts';
import { type ColumnWishes, type FoundColumns, findColumns, guessDelimiter } from './csv-columns.ts';
import { type ReadTime, timeReader, zoneNamed } from './csv-time.ts';

export interface CsvImport extends ColumnWishes {
  readonly file: string;
  readonly organisation: string;
  /** The name of the sensor all rows belong to. */
  readonly sensor: string;
  /** IANA name or fixed offset; times that carry an offset of their own keep it. */
  readonly timeZone: string;
  /** One character; guessed from the title line where absent. */
  readonly delimiter?: string | undefined;
  readonly store: Pick<TimeSeries, 'append'>;
  readonly now?: () => number;
  readonly onProgress?: (bytesDone: number, bytesTotal: number) => void;
}

export interface Imported {
  /** Below the title line. */
  readonly rows: number;
  /** Values, as the store counts them. */
  readonly stored: number;
  readonly duplicates: number;
  readonly conflicts: number;
  /** Rows of which something could not be taken; `refused` tells of the first thousand. */
  readonly refusedRows: number;
  readonly refused: readonly { readonly line: number; readonly sentence: string }[];
}

const rowsPerBatch = 2_000;
const refusalsTold = 1_000;
const missing = /^(?:|-+|na|n\/a|nan|null)$/i;

async function sizeOf(file: string): Promise<number> {
  const info = await stat(file).catch((error: NodeJS.ErrnoException) => {
    throw new Error(
      error.code === 'ENOENT'
        ? `The file ${file} does not exist.`
        : `The file ${file} cannot be read: ${error.message}.`,
    );
  });
  if (!info.isFile()) throw new Error(`${file} is not a file.`);
  return info.size;
}

async function titleLineOf(file: string): Promise<{ line: string; encoding: 'utf8' | 'utf16le' }> {
  const handle = await open(file);
  try {
    const start = Buffer.alloc(65_536);
    const { bytesRead } = await handle.read(start, 0, start.length, 0);
    const encoding = start[0] === 0xff && start[1] === 0xfe ? 'utf16le' : 'utf8';
    return {
      line:
        start
          .subarray(0, bytesRead)
          .toString(encoding)
          .split(/\r?\n|\r/, 1)[0] ?? '',
      encoding,
    };
  } finally {
    await handle.close();
  }
}

/** A number as loggers write it; null where the field is empty; a sentence where it is neither. */
function readNumber(text: string, delimiter: string): number | null | string {
  const trimmed = text.trim();
  if (missing.test(trimmed)) return null;
  const plain = delimiter === ',' ? trimmed : trimmed.replace(',', '.');
  const value = /^[+-]?(?:\d+\.?\d*|\.\d+)(?:e[+-]?\d+)?$/i.test(plain) ? Number(plain) : Number.NaN;
  return Number.isNaN(value) ? `“${trimmed}” is not a number` : value;
}

/** @throws Error with one sentence: no such file, no such column, no such time zone, or a failing store */
export async function importCsv(options: CsvImport): Promise<Imported> {
  const { file, organisation, sensor, store, now = Date.now, onProgress } = options;
  if (!isName(sensor)) {
    throw new Error(
      `“${sensor}” cannot be a sensor's name; letters, digits and - : . / _ are taken, a letter or digit first.`,
    );
  }
  const readTime = timeReader(zoneNamed(options.timeZone));
  const bytesTotal = await sizeOf(file);
  const { line, encoding } = await titleLineOf(file);
  const delimiter = options.delimiter ?? guessDelimiter(line);

  let [rows, stored, duplicates, conflicts, refusedRows] = [0, 0, 0, 0, 0];
  const refused: { line: number; sentence: string }[] = [];
  let batch: Reading[] = [];
  let rowsInBatch = 0;

  const source = createReadStream(file, { encoding });
  const parser = parse({
    bom: true,
    delimiter,
    relax_column_count: true,
    skip_empty_lines: true,
    info: true,
    relax_quotes: true,
    // A quote that is never closed would otherwise swallow the rest of the file.
    max_record_size: 100_000,
  });
  source.on('error', (error) => parser.destroy(error));
  source.pipe(parser);

  async function flush(): Promise<void> {
    if (batch.length > 0) {
      const appended = await store.append(batch);
      stored += appended.stored;
      duplicates += appended.duplicates;
      conflicts += appended.conflicts;
      for (const { sentence } of appended.refused ?? []) {
        refusedRows += 1;
        if (refused.length < refusalsTold)
          refused.push({ line: parser.info.lines, sentence: `${sentence}.` });
      }
      batch = [];
    }
    rowsInBatch = 0;
    onProgress?.(source.bytesRead, bytesTotal);
  }

  let columns: FoundColumns | undefined;
  try {
    for await (const { record, info } of parser as AsyncIterable<{
      record: string[];
      info: { lines: number };
    }>) {
      if (!columns) {
        columns = findColumns(record, options);
        continue;
      }
      rows += 1;
      rowsInBatch += 1;
      const { reading, faults } = readRow(record, columns, readTime, delimiter, now());
      if (reading) batch.push({ organisation, sensor, ...reading });
      if (faults.length > 0) {
        refusedRows += 1;
        if (refused.length < refusalsTold)
          refused.push({ line: info.lines, sentence: `${faults.join('; ')}.` });
      }
      if (rowsInBatch >= rowsPerBatch) await flush();
    }
  } catch (error) {
    if (!(error instanceof CsvError)) throw error;
    throw new Error(`The file ${file} cannot be read as CSV: ${error.message}.`);
  } finally {
    source.destroy();
  }
  if (!columns) throw new Error(`The file ${file} is empty.`);
  await flush();
  onProgress?.(bytesTotal, bytesTotal);
  return { rows, stored, duplicates, conflicts, refusedRows, refused };
}

type RowReading = { timeMs: number; humidityPct?: number; temperatureC?: number };

/** A good value of a row is kept even if the other is faulty. */
function readRow(
  record: readonly string[],
  columns: FoundColumns,
  readTime: ReadTime,
  delimiter: string,
  nowMs: number,
): { reading: RowReading | null; faults: string[] } {
  const timeMs = readTime(record[columns.time] ?? '');
  if (typeof timeMs === 'string') return { reading: null, faults: [timeMs] };
  const outOfTime = checkTime(timeMs, nowMs);
  if (outOfTime) return { reading: null, faults: [outOfTime.sentence] };

  const reading: RowReading = { timeMs };
  const faults: string[] = [];
  for (const [quantity, column] of [
    ['humidityPct', columns.humidity],
    ['temperatureC', columns.temperature],
  ] as const) {
    if (column === null) continue;
    const value = readNumber(record[column] ?? '', delimiter);
    if (value === null) continue;
    if (typeof value === 'string') {
      faults.push(`${quantity === 'humidityPct' ? 'humidity' : 'temperature'} ${value}`);
      continue;
    }
    const inFahrenheit = quantity === 'temperatureC' && columns.isFahrenheit;
    const inRange = checkRange(quantity, inFahrenheit ? fahrenheitToC(value) : value);
    if ('sentence' in inRange) faults.push(inRange.sentence);
    else reading[quantity] = inRange.value;
  }
  const empty = reading.humidityPct === undefined && reading.temperatureC === undefined;
  return { reading: empty ? null : reading, faults };
}
