/** A part of a logger's file, whole lines of it: read by a shape that a person has seen. Pure. */
import type { Reading } from '../reading.ts';
import { readRow } from './csv-row.ts';
import { type CsvShape, cellsOf } from './csv-shape.ts';
import { isSkippedHour, timeReader, zoneNamed } from './csv-time.ts';

export interface CsvPart {
  readonly text: string;
  /** Which line of the file its first is, from 1. */
  readonly firstLine: number;
  readonly organisation: string;
  readonly sensor: string;
  readonly shape: CsvShape;
  /** The last time of the part before: which of the two hours of an autumn night is meant rests on it. */
  readonly beforeMs: number | null;
}

export interface ReadPart {
  readonly rows: number;
  readonly readings: readonly Reading[];
  readonly refused: readonly { readonly line: number; readonly sentence: string }[];
  readonly lastMs: number | null;
  /** Rows in an hour that clocks of the zone skip in spring: this one does not follow summer time. */
  readonly skippedHours: number;
}

/** @throws Error with one sentence: no such time zone */
export function readCsvPart(part: CsvPart, nowMs: number): ReadPart {
  const { firstLine, shape, organisation, sensor } = part;
  const readTime = timeReader(zoneNamed(shape.timeZone), shape.dateOrder, part.beforeMs);
  const skipped = Math.max(0, shape.titleLine - firstLine + 1);
  const text = part.text.replace(/^\uFEFF/, '');
  const below =
    skipped === 0
      ? text
      : text
          .split(/\r\n|\n|\r/)
          .slice(skipped)
          .join('\n');
  const readings: Reading[] = [];
  const refused: { line: number; sentence: string }[] = [];
  let rows = 0;
  let lastMs = part.beforeMs;
  for (const { cells, line } of cellsOf(below, shape.delimiter)) {
    rows += 1;
    const { reading, faults, timeMs } = readRow(cells, shape, readTime, nowMs);
    if (timeMs !== null) lastMs = timeMs;
    if (reading) readings.push({ organisation, sensor, ...reading });
    if (faults.length > 0)
      refused.push({ line: firstLine + skipped + line - 1, sentence: `${faults.join('; ')}.` });
  }
  const skippedHours = refused.filter(({ sentence }) => isSkippedHour(sentence)).length;
  return { rows, readings, refused, lastMs, skippedHours };
}
