/** What was learned of an instrument's drift, what comes, how past words fared, and what another climate would change. */
import * as z from 'zod/mini';
import { id, nullableNumbers, register, timeMs } from './quantities.ts';

/** Cents per %MC: of this instrument, and what is usual for its kind in the fleet. */
export const sensitivity = z.object({
  register,
  centsPerPct: z.number(),
  sdCents: z.number(),
  fleetCentsPerPct: z.number(),
  /** Intervals of its own it was learned from. */
  intervals: z.int(),
});
export type Sensitivity = z.infer<typeof sensitivity>;

/** An interval between two visits: what the board did, and what the pitch did. */
export const driftPoint = z.object({
  fromMs: timeMs,
  toMs: timeMs,
  register,
  moistureChangePct: z.number(),
  changeCents: z.number(),
});
export type DriftPoint = z.infer<typeof driftPoint>;

/** Why a register moved since the last time its pitch was known; the parts add up to the whole. */
export const whyMoved = z.object({
  sinceMs: timeMs,
  /** Found at a visit, where it has one since; else what is predicted for now. */
  untilMs: timeMs,
  measured: z.boolean(),
  register,
  totalCents: z.number(),
  moistureCents: z.number(),
  temperatureCents: z.number(),
  ageingCents: z.number(),
  settlingCents: z.number(),
  /** Only where it was measured. */
  unexplainedCents: z.nullable(z.number()),
  words: z.string(),
});
export type WhyMoved = z.infer<typeof whyMoved>;

export const learned = z.object({
  sensitivity: z.array(sensitivity),
  points: z.array(driftPoint),
  /** Intervals not learned from, and why. */
  leftOut: z.array(z.object({ fromMs: timeMs, toMs: timeMs, because: z.string() })),
  /** How slowly the board answers the air, days, as learned. */
  lagDays: z.number(),
  whyMoved: z.array(whyMoved),
});
export type Learned = z.infer<typeof learned>;

const score = z.object({
  /** Intervals scored; those of one visit count once. */
  intervals: z.int(),
  /** Share of what was found that lay within the 80 % band, 0-1. */
  coverage: z.nullable(z.number()),
  missCents: z.nullable(z.number()),
  rivals: z.array(z.object({ name: z.string(), missCents: z.number() })),
});
export type LookBackScore = z.infer<typeof score>;

/** What would have been said as of each past visit, from what was known before it, against what was then found. */
export const lookBackPage = z.object({
  visits: z.array(
    z.object({
      fromMs: timeMs,
      toMs: timeMs,
      registers: z.array(
        z.object({
          register,
          saidCents: z.number(),
          lowCents: z.number(),
          highCents: z.number(),
          foundCents: z.number(),
        }),
      ),
    }),
  ),
  instrument: score,
  venue: score,
  fleet: score,
});
export type LookBackPage = z.infer<typeof lookBackPage>;

/** Quantiles of each coming day. */
export const fan = z.object({ low: nullableNumbers, middle: nullableNumbers, high: nullableNumbers });
export type Fan = z.infer<typeof fan>;

export const forecast = z.object({
  madeMs: timeMs,
  /** What it rests on, in words: its own room's past, another room's, the outdoor air, the fleet's. */
  basis: z.string(),
  /** End of each coming day. */
  timesMs: z.array(timeMs),
  humidityPct: fan,
  moisturePct: fan,
  registers: z.array(z.object({ register, offsetCents: fan })),
  spreadCents: z.nullable(fan),
  /** Chance of being out of tolerance (level, step or unisons) on each day, 0-1. */
  beyond: nullableNumbers,
  /** The same for pitch alone (level or step), and for unisons alone. */
  pitchBeyond: z.array(z.number()),
  unisonsBeyond: z.array(z.number()),
  /** Events that use it: chance that a tuning 0, 1, 2 … days before would not hold until then. */
  events: z.array(z.object({ eventId: id, unsteadyByLeadDays: z.array(z.number()) })),
  /** Does it ask for a tuning, and which part of the tolerance asks; null where nothing can be foretold. */
  decision: z.nullable(
    z.object({
      advice: z.enum(['leave it', 'wait', 'touch up unisons', 'tune']),
      asks: z.array(z.enum(['level', 'step', 'unisons'])),
      because: z.string(),
    }),
  ),
  /** Why it is wiser to wait, or null. */
  wait: z.nullable(z.object({ untilMs: timeMs, why: z.string() })),
});
export type Forecast = z.infer<typeof forecast>;

/** The dates of the coming year that keep it within tolerance for the most days, against the habit of even months. */
export const bestDates = z.object({
  dates: z.array(z.object({ atMs: timeMs, why: z.string() })),
  days: z.int(),
  daysWithin: z.number(),
  habitDaysWithin: z.number(),
  gainDays: z.number(),
  /** Eight of ten paths gain between these. */
  gainLowDays: z.number(),
  gainHighDays: z.number(),
  words: z.string(),
});
export type BestDates = z.infer<typeof bestDates>;

/** No room is held drier or damper than that. */
const heldPct = z.number().check(z.gte(5), z.lte(90));

export const whatIfBody = z
  .object({
    /** Hold the room or the inside of the case within this band, or stand in another room. */
    hold: z.nullable(z.object({ where: z.enum(['room', 'inside']), lowPct: heldPct, highPct: heldPct })),
    roomId: z.nullable(id),
  })
  .check(
    z.refine((body) => (body.hold === null) !== (body.roomId === null), {
      message: 'give either a band to hold or a room to stand in',
      path: ['hold'],
    }),
    z.refine((body) => body.hold === null || body.hold.lowPct < body.hold.highPct, {
      message: 'must be above lowPct',
      path: ['hold', 'highPct'],
    }),
  );

export type WhatIfBody = z.infer<typeof whatIfBody>;

/** As it is, as it would be, and the difference with the range that holds eight of ten paths. */
const setAgainst = z.object({
  asItIs: z.number(),
  changed: z.number(),
  by: z.number(),
  low: z.number(),
  high: z.number(),
});
export type SetAgainst = z.infer<typeof setAgainst>;

const comparison = z.object({
  days: z.int(),
  daysBeyond: setAgainst,
  /** Of them days with the pitch (level or step) out, and with the unisons out; on some days both are. */
  pitchDays: setAgainst,
  unisonDays: setAgainst,
  tunings: setAgainst,
  /** Days with the board in class 1, 2 and 3; empty for a laminated one. */
  boardDays: z.array(setAgainst),
});

export const whatIfPage = z.object({
  pastYear: comparison,
  coming: comparison,
  /** Water in a year where a room is held; null where its volume or air changes are not known. */
  litresAdded: z.nullable(z.number()),
  litresRemoved: z.nullable(z.number()),
  caution: z.string(),
});
export type WhatIfPage = z.infer<typeof whatIfPage>;
