/** What a phone keeps of each instrument so that its sheet opens in a basement; and the workshop's own terms. */
import * as z from 'zod/mini';
import { airNow, class0to3, id, name, register, timeMs, use } from './quantities.ts';
import { remark } from './remarks.ts';
import { finding } from './visits.ts';

export const ownTime = z.object({
  count: z.int(),
  minutes: z.object({ least: z.int(), likely: z.int(), most: z.int() }),
});

/** Rates and words of the organisation, for estimates and reports. */
export const workshopBody = z.object({
  /** How reports are headed. */
  heading: name,
  ratePerHourCents: z.nullable(z.int().check(z.gte(0), z.lte(100_000_000))),
  currency: z.string().check(z.regex(/^[A-Z]{3}$/, 'must be three capital letters such as EUR (ISO 4217)')),
  /** Added to the usual disclaimers of every report. */
  disclaimer: z.string().check(z.maxLength(4000)),
});
export type Workshop = z.infer<typeof workshopBody>;

export const openFinding = z.object({
  visitId: id,
  atMs: timeMs,
  finding,
});
export type OpenFinding = z.infer<typeof openFinding>;

export const visitBrief = z.object({
  instrumentId: id,
  name,
  kind: z.enum(['grand', 'upright']),
  use,
  pitchStandardHz: z.number(),
  venueName: z.string(),
  roomName: z.string(),
  timeZone: z.string(),
  /** What the forecast expects to be found. */
  expected: z.array(
    z.object({ register, offsetCents: z.nullable(z.number()), sdCents: z.nullable(z.number()) }),
  ),
  advice: z.string(),
  urgency: class0to3,
  /** Air at the piano, inside before the room's; to prefill the conditions. */
  air: z.nullable(airNow),
  lastVisitMs: z.nullable(timeMs),
  /** Findings of the last look at each item, condition class over 0. */
  open: z.array(openFinding),
  remarks: z.array(remark),
});
export type VisitBrief = z.infer<typeof visitBrief>;

export const visitBriefs = z.object({
  atMs: timeMs,
  workshop: workshopBody,
  ownTimes: z.record(z.string(), ownTime),
  instruments: z.array(visitBrief),
});
export type VisitBriefs = z.infer<typeof visitBriefs>;
