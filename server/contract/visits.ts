/** What a technician records at an instrument. A visit is made on the device with its own UUID; corrections are new visits. */
import * as z from 'zod/mini';
import { jobIds } from './inspection/jobs.ts';
import { class0to3, humidityPct, id, temperatureC, timeMs, words } from './quantities.ts';
import { unisonSamples } from './unisons.ts';
import { earlierGrade, notesRange, visitSheet } from './visit-sheet.ts';

/**
 * A pitch reading, in Hz or in cents from the instrument's own standard. For a register, Hz are read at its sample
 * note: bass A1, tenor C3, middle A4, treble A5, top A6.
 */
export const pitchReading = z.union([
  z.object({ unit: z.literal('cents'), value: z.number().check(z.gte(-400), z.lte(400)) }),
  z.object({ unit: z.literal('Hz'), value: z.number().check(z.gte(20), z.lte(5000)) }),
]);
export type PitchReading = z.infer<typeof pitchReading>;

/** A4 alone, or any of the registers; what was not measured is null. */
export const pitchTaken = z.object({
  a4: z.nullable(pitchReading),
  bass: z.nullable(pitchReading),
  tenor: z.nullable(pitchReading),
  middle: z.nullable(pitchReading),
  treble: z.nullable(pitchReading),
  top: z.nullable(pitchReading),
});
export type PitchTaken = z.infer<typeof pitchTaken>;

export const assemblies = [
  'site and case',
  'soundboard and ribs',
  'bridges',
  'plate',
  'pinblock and pins',
  'strings',
  'hammers',
  'knuckles',
  'centres',
  'keys',
  'dampers',
  'pedals',
  'regulation',
  'voicing',
  'tuning',
  'felts and cleanliness',
] as const;

/** Findings the board's limits know; anything else goes under its part in plain words. */
export const boardFindings = ['open crack', 'separated rib', 'no crown', 'loose pins'] as const;

export const finding = z.object({
  assembly: z.enum(assemblies),
  part: z.string().check(z.maxLength(120)),
  conditionClass: class0to3,
  urgencyClass: class0to3,
  recommendationClass: class0to3,
  words,
  workProposed: z.nullable(z.string().check(z.maxLength(400))),
  estimatedMinutes: z.nullable(z.int().check(z.gte(0), z.lte(100_000))),
  measured: z.nullable(z.object({ value: z.number(), unit: z.string().check(z.maxLength(20)) })),
  /** Second form only: the catalogue's item, what of it, and how it hangs together. */
  itemId: z.optional(z.string().check(z.maxLength(80))),
  job: z.optional(z.enum(jobIds)),
  notes: z.optional(notesRange),
  /** The item whose finding causes this one. */
  causedBy: z.optional(z.string().check(z.maxLength(80))),
  earlier: z.optional(z.array(earlierGrade).check(z.maxLength(20))),
  photoIds: z.optional(z.array(id).check(z.maxLength(20))),
});
export type Finding = z.infer<typeof finding>;

const spreadCents = z.nullable(z.number().check(z.gte(0), z.lte(200)));

export const visitBody = z.object({
  instrumentId: id,
  atMs: timeMs,
  by: z.nullable(z.string().check(z.maxLength(120))),
  /** Humidity and temperature read at the piano, where someone looked. */
  conditions: z.object({ humidityPct: z.nullable(humidityPct), temperatureC: z.nullable(temperatureC) }),
  asFound: z.nullable(pitchTaken),
  asLeft: z.nullable(pitchTaken),
  /** 90th percentile of the spread within unisons, cents; null is "not measured", never zero. */
  unisonsFoundCents: spreadCents,
  unisonsLeftCents: spreadCents,
  /** The same register by register, with which and how many were sampled; absent in the first form. */
  unisonsFound: z.optional(unisonSamples),
  unisonsLeft: z.optional(unisonSamples),
  /** Strings replaced or a section restrung: the interval is not learned from. */
  stringWork: z.boolean(),
  minutes: z.nullable(z.int().check(z.gte(0), z.lte(6000))),
  note: words,
  findings: z.array(finding).check(z.maxLength(400)),
  /** The visit this one corrects; that one stays. */
  corrects: z.nullable(id),
  /** Present in the second form of the envelope, absent in the first; the server takes both. */
  sheet: z.optional(visitSheet),
});
export type VisitBody = z.infer<typeof visitBody>;
export const visit = z.extend(visitBody, { id, receivedMs: timeMs });
export type Visit = z.infer<typeof visit>;
