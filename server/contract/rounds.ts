/** Calls as trips, what was decided about them, and the hours the coming year asks for. */
import * as z from 'zod/mini';
import { id, timeMs } from './quantities.ts';
import { call } from './watch.ts';

export const callChoiceBody = z
  .object({
    choice: z.enum(['accepted', 'declined']),
    /** When it is planned; moving it is accepting it for another time. */
    plannedMs: z.nullable(timeMs),
    /** Who goes; null: whoever looks after the fleet. */
    personId: z.nullable(id),
    reason: z.string().check(z.maxLength(400)),
  })
  .check(
    z.refine((one) => one.choice !== 'declined' || one.reason.trim() !== '', {
      message: 'must say why a call is declined',
      path: ['reason'],
    }),
  );
export type CallChoiceBody = z.infer<typeof callChoiceBody>;

/** Several calls at once, all or none: a whole round is accepted, moved or taken back. null takes a decision back. */
export const callChoicesBody = z.object({
  choices: z
    .array(z.object({ id, choice: z.nullable(callChoiceBody) }))
    .check(z.minLength(1), z.maxLength(300)),
});
export type CallChoicesBody = z.infer<typeof callChoicesBody>;

export const round = z.object({
  venueId: z.nullable(id),
  venueName: z.string(),
  timeZone: z.string(),
  /** When to begin: planned where somebody planned, else the first working day that serves every call and is free. */
  dateMs: timeMs,
  planned: z.boolean(),
  /** After this one of its calls comes too late; null: none of them has an end. */
  latestMs: z.nullable(timeMs),
  /** Who goes; null: nobody was named. */
  personId: z.nullable(id),
  /** At the instruments, without the way there. */
  minutes: z.int(),
  /** To get there, one way; assumed: the venue does not say, and half an hour is taken. */
  wayMinutes: z.int(),
  wayAssumed: z.boolean(),
  bring: z.array(z.string()),
  /** In the order of the rooms. */
  calls: z.array(call),
});
export type Round = z.infer<typeof round>;

export const roundsPage = z.object({
  /** In the whole fleet, whether they ask for anything or not. */
  instruments: z.int(),
  rounds: z.array(round),
  /** Better left for now, with until when. */
  waiting: z.array(call),
  declined: z.array(call),
  done: z.array(
    z.object({
      callId: id,
      visitId: id,
      instrumentId: id,
      kind: z.string(),
      place: z.string(),
      why: z.string(),
      doneMs: timeMs,
    }),
  ),
});
export type RoundsPage = z.infer<typeof roundsPage>;

export const yearPlan = z.object({
  months: z.array(
    z.object({
      /** First day of the month, YYYY-MM-DD. */
      month: z.string(),
      hours: z.number(),
      available: z.number(),
      venues: z.array(
        z.object({
          venueId: id,
          venueName: z.string(),
          tunings: z.int(),
          inspections: z.int(),
          /** Repairs, humidity control, sensors: calls that are open now. */
          others: z.int(),
          hours: z.number(),
        }),
      ),
    }),
  ),
  /** What the year asks for, what there is, and what would have to give. */
  sentences: z.array(z.string()),
  instruments: z.array(
    z.object({
      id,
      name: z.string(),
      venueId: id,
      tunings: z.int(),
      tuningMinutes: z.number(),
      /** Where its tunings were put by: its forecast's best dates, or the interval usual for its use. */
      by: z.enum(['best dates', 'interval']),
    }),
  ),
  /** Instruments whose best dates are still being worked out: ask again. */
  pending: z.int(),
});
export type YearPlan = z.infer<typeof yearPlan>;

export const noticeDone = z.object({
  note: z.string().check(z.maxLength(400)),
  by: z.string().check(z.maxLength(120)),
});
export const snoozeBody = z.object({ untilMs: timeMs, by: z.string().check(z.maxLength(120)) });

export const noticeHistory = z.object({
  events: z.array(z.object({ atMs: timeMs, kind: z.string(), note: z.string() })),
});

/** Quality of the watch itself, after the habits of ISA-18.2: how much it says, and whether that led to anything. */
export const watchQuality = z.object({
  days: z.int(),
  instruments: z.int(),
  noticesPerInstrumentMonth: z.number(),
  byRule: z.array(
    z.object({
      rule: z.string(),
      count: z.int(),
      perInstrumentMonth: z.number(),
      acknowledgedShare: z.number(),
      workShare: z.number(),
    }),
  ),
  /** Begun again within a week of their end. */
  flapping: z.array(z.object({ place: z.string(), rule: z.string(), count: z.int() })),
  /** Open for over 30 days. */
  stale: z.array(z.object({ place: z.string(), rule: z.string(), days: z.int() })),
});
export type WatchQuality = z.infer<typeof watchQuality>;
