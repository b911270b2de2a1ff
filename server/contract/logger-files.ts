/** A logger's CSV file brought in by the browser: how it is written, a preview, and its parts one after another. */
import * as z from 'zod/mini';
import { timeMs } from './quantities.ts';

const position = z.int().check(z.gte(0), z.lte(500));

const delimiter = z.enum([';', '\t', ',', '|']);

export const csvShape = z.object({
  delimiter,
  decimalComma: z.boolean(),
  dateOrder: z.enum(['ymd', 'dmy', 'mdy']),
  /** IANA name or fixed offset ("UTC+1"); times that carry an offset of their own keep it. */
  timeZone: z.string().check(z.minLength(1), z.maxLength(60)),
  /** Line of the titles, from 1; 0: there are none. */
  titleLine: z.int().check(z.gte(0), z.lte(1000)),
  /** Positions of the columns, from 0. */
  time: position,
  clock: z.nullable(position),
  humidity: z.nullable(position),
  temperature: z.nullable(position),
  fahrenheit: z.boolean(),
});
export type LoggerShape = z.infer<typeof csvShape>;

/** Whole lines; short enough that reading and storing them holds nobody. */
export const partText = z.string().check(z.maxLength(150_000));

export const previewBody = z.object({
  /** The beginning of the file. */
  text: partText,
  /** Where no shape is given, one is guessed for this zone. */
  timeZone: z.string().check(z.minLength(1), z.maxLength(60)),
  /** The guess goes by this where a person has said what cuts the columns. */
  delimiter: z.optional(delimiter),
  shape: z.optional(csvShape),
});

export const loggerPreview = z.object({
  shape: csvShape,
  titles: z.array(z.string()),
  /** False where day and month could be either way round. */
  sureOfDates: z.boolean(),
  /** The first rows, as they would be stored. */
  rows: z.array(
    z.object({
      timeMs,
      humidityPct: z.nullable(z.number()),
      temperatureC: z.nullable(z.number()),
    }),
  ),
  refused: z.array(z.object({ line: z.int(), sentence: z.string() })),
});
export type LoggerPreview = z.infer<typeof loggerPreview>;

export const loggerPart = z.object({
  sensor: z.string().check(z.minLength(1), z.maxLength(200)),
  shape: csvShape,
  text: partText,
  /** Which line of the file its first is, from 1. */
  firstLine: z.int().check(z.gte(1)),
  /** The last time of the part before. */
  beforeMs: z.nullable(timeMs),
  /** Only looked at: nothing is stored. */
  onlyLook: z.optional(z.boolean()),
});

export const partTaken = z.object({
  rows: z.int(),
  stored: z.int(),
  duplicates: z.int(),
  conflicts: z.int(),
  refused: z.array(z.object({ line: z.nullable(z.int()), sentence: z.string() })),
  lastMs: z.nullable(timeMs),
  /** Rows in an hour that clocks of the zone skip in spring: this one does not follow summer time. */
  skippedHours: z.int(),
});
export type PartTaken = z.infer<typeof partTaken>;
