/** A row of a logger's file as a reading. A good value of it is kept even if the other is faulty. */
import { checkRange } from '../checks/range.ts';
import { checkTime } from '../checks/time.ts';
import { fahrenheitToC } from '../units.ts';
import type { ReadTime } from './csv-time.ts';

export interface RowShape {
  readonly time: number;
  /** Time of day, where it stands apart from the date. */
  readonly clock?: number | null;
  readonly humidity: number | null;
  readonly temperature: number | null;
  readonly fahrenheit: boolean;
  /** Whether a comma in a number is its decimal sign. */
  readonly decimalComma: boolean;
}

export type RowReading = { timeMs: number; humidityPct?: number; temperatureC?: number };

const missing = /^(?:|-+|na|n\/a|nan|null)$/i;

/** A number as loggers write it; null where the field is empty; a sentence where it is neither. */
function readNumber(text: string, decimalComma: boolean): number | null | string {
  const trimmed = text.trim();
  if (missing.test(trimmed)) return null;
  const plain = decimalComma ? trimmed.replace(',', '.') : trimmed;
  const value = /^[+-]?(?:\d+\.?\d*|\.\d+)(?:e[+-]?\d+)?$/i.test(plain) ? Number(plain) : Number.NaN;
  return Number.isNaN(value) ? `“${trimmed.slice(0, 40)}” is not a number` : value;
}

export function readRow(
  record: readonly string[],
  shape: RowShape,
  readTime: ReadTime,
  nowMs: number,
): { reading: RowReading | null; faults: string[]; timeMs: number | null } {
  const clock = shape.clock ?? null;
  const date = record[shape.time] ?? '';
  const timeMs = readTime(clock === null ? date : `${date.trim()} ${(record[clock] ?? '').trim()}`);
  if (typeof timeMs === 'string') return { reading: null, faults: [timeMs], timeMs: null };
  const outOfTime = checkTime(timeMs, nowMs);
  if (outOfTime) return { reading: null, faults: [outOfTime.sentence], timeMs: null };

  const reading: RowReading = { timeMs };
  const faults: string[] = [];
  for (const [quantity, column] of [
    ['humidityPct', shape.humidity],
    ['temperatureC', shape.temperature],
  ] as const) {
    if (column === null) continue;
    const value = readNumber(record[column] ?? '', shape.decimalComma);
    if (value === null) continue;
    if (typeof value === 'string') {
      faults.push(`${quantity === 'humidityPct' ? 'humidity' : 'temperature'} ${value}`);
      continue;
    }
    const inFahrenheit = quantity === 'temperatureC' && shape.fahrenheit;
    const inRange = checkRange(quantity, inFahrenheit ? fahrenheitToC(value) : value);
    if ('sentence' in inRange) faults.push(inRange.sentence);
    else reading[quantity] = inRange.value;
  }
  const empty = reading.humidityPct === undefined && reading.temperatureC === undefined;
  return { reading: empty ? null : reading, faults, timeMs };
}
