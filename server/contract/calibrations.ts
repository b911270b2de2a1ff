/** Dated calibrations of sensors: by salt jars, by standing beside another, or as somebody knows it. */
import * as z from 'zod/mini';
import { id, temperatureC, timeMs } from './quantities.ts';

export const salts = ['LiCl', 'MgCl2', 'K2CO3', 'NaBr', 'NaCl', 'KCl', 'K2SO4'] as const;
export type SaltName = (typeof salts)[number];

export const saltPoint = z.object({
  salt: z.enum(salts),
  /** Of the jar, 15 to 30. */
  temperatureC: z.number().check(z.gte(15), z.lte(30)),
  /** What the sensor itself showed once it had settled, before any correction. */
  readingPct: z.number().check(z.gte(-20), z.lte(120)),
});
export type SaltPoint = z.infer<typeof saltPoint>;

const common = {
  /** Readings measured from then on are put right by it. */
  fromMs: timeMs,
  /** The entry this one takes the place of. */
  corrects: z.nullable(id),
  words: z.string().check(z.maxLength(500)),
};

export const calibrationBody = z.discriminatedUnion('kind', [
  z.object({
    kind: z.literal('salt'),
    points: z.array(saltPoint).check(z.minLength(2), z.maxLength(12)),
    ...common,
  }),
  z.object({
    kind: z.literal('beside'),
    /** The sensor it stood beside, and over which time. */
    otherId: id,
    besideFromMs: timeMs,
    besideUntilMs: timeMs,
    ...common,
  }),
  z.object({
    kind: z.literal('stated'),
    gain: z.number().check(z.gte(0.5), z.lte(2)),
    offsetPct: z.number().check(z.gte(-30), z.lte(30)),
    offsetC: z.number().check(z.gte(-10), z.lte(10)),
    ...common,
  }),
  /** As it comes, from then on: takes back what was said before. */
  z.object({ kind: z.literal('none'), ...common }),
]);
export type CalibrationBody = z.infer<typeof calibrationBody>;

/** true humidity = gain x sent + offsetPct; true temperature = sent + offsetC. */
export const correction = z.object({
  fromMs: timeMs,
  gain: z.number(),
  offsetPct: z.number(),
  offsetC: z.number(),
});
export type Correction = z.infer<typeof correction>;

export const calibration = z.object({
  id,
  sensorId: id,
  madeMs: timeMs,
  body: calibrationBody,
  ...correction.shape,
  /** The entry that took its place, where one did. */
  correctedBy: z.nullable(id),
});
export type Calibration = z.infer<typeof calibration>;

/** What salt points come to, before anything is kept. */
export const saltTrial = z.object({
  gain: z.number(),
  offsetPct: z.number(),
  points: z.array(
    z.object({
      truePct: z.number(),
      uncertaintyPct: z.number(),
      /** The line at this point, less the truth. */
      residualPct: z.number(),
    }),
  ),
  /** Between which humidities it was looked at; beyond, the line is a guess. */
  fromPct: z.number(),
  toPct: z.number(),
  /** How far the sensor is out as it is, at either end, with its sign. */
  errorLowPct: z.number(),
  errorHighPct: z.number(),
  /** Two standard deviations of the line in the middle. */
  doubtPct: z.number(),
  /** What to say of it. */
  sentences: z.array(z.string()),
});
export type SaltTrial = z.infer<typeof saltTrial>;

export const saltAt = z.object({ salt: z.enum(salts), humidityPct: z.number(), uncertaintyPct: z.number() });
export type SaltAt = z.infer<typeof saltAt>;

/** Another sensor that stood at the same spot at the same time. */
export const beside = z.object({
  otherId: id,
  otherUrn: z.string(),
  fromMs: timeMs,
  untilMs: timeMs,
  /** Hours that both were heard in. */
  hours: z.int(),
  /** The other (put right as it is) less this one (as sent). */
  offsetPct: z.number(),
  offsetC: z.number(),
  /** How much that difference wanders from hour to hour, standard deviation. */
  wanderPct: z.number(),
});
export type Beside = z.infer<typeof beside>;

export const calibrationPage = z.object({
  sensorId: id,
  urn: z.string(),
  /** Its last words as it sent them. */
  sent: z.nullable(
    z.object({ timeMs, humidityPct: z.nullable(z.number()), temperatureC: z.nullable(temperatureC) }),
  ),
  /** Newest first, those that were corrected included. */
  calibrations: z.array(calibration),
  beside: z.array(beside),
  cautions: z.array(z.string()),
});
export type CalibrationPage = z.infer<typeof calibrationPage>;
