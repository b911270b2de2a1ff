/** A logger's file: read as a stream, checked like any reading, stored in batches. Importing it again adds nothing. */
import { createReadStream } from 'node:fs';
import { open, stat } from 'node:fs/promises';
import { CsvError, parse } from 'csv-parse';
import { isName } from '../decode/senml.ts';
import type { Reading } from '../reading.ts';
import type { TimeSeries } from '../store/time-series.ts';
import { type ColumnWishes, type FoundColumns, findColumns, guessDelimiter } from './csv-columns.ts';
import { readRow } from './csv-row.ts';
import { timeReader, zoneNamed } from './csv-time.ts';

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
      const shape = {
        ...columns,
        fahrenheit: columns.isFahrenheit,
        decimalComma: delimiter !== ',',
      };
      const { reading, faults } = readRow(record, shape, readTime, now());
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
