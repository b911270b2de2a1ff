/** What the watch found (notices), the visits it asks for (calls), and the advice an instrument's page opens with. */
import * as z from 'zod/mini';
import { airNow, class0to3, id, timeMs } from './quantities.ts';
import { instrument } from './registry.ts';
import { registerPitch, tolerance, wholePitch } from './series.ts';
import { visit } from './visits.ts';

/** Everything the watch can find. The order is that of weight where two of one severity compete for a sentence. */
export const rules = [
  'board-dry',
  'board-wet',
  'sweat',
  'control-lost',
  'frost-ahead',
  'pitch-out',
  'unisons-out',
  'event-unsteady',
  'mould',
  'rust',
  'pins-dry',
  'action-wet',
  'swing',
  'finding-open',
  'service-due',
  'sensor-stuck',
  'sensor-off',
  'sensor-silent',
  'battery-low',
] as const;
export const rule = z.enum(rules);
export type RuleName = z.infer<typeof rule>;
export const callKinds = ['tuning', 'humidity control', 'repair', 'inspection', 'sensor'] as const;

export const notice = z.object({
  id,
  rule,
  instrumentId: z.nullable(id),
  sensorId: z.nullable(id),
  venueId: z.nullable(id),
  /** Where it is, in words: "Fernmoor Conservatory · Studio 4 · Grand 208 cm". */
  place: z.string(),
  severity: class0to3,
  /** frozen: its data went stale, so it is neither over nor new. */
  state: z.enum(['open', 'frozen', 'over']),
  beganMs: timeMs,
  overMs: z.nullable(timeMs),
  what: z.string(),
  why: z.string(),
  toDo: z.string(),
  /** Hands are wiser to wait until then; null: any time. */
  notBeforeMs: z.nullable(timeMs),
  /** Usual minutes for what is proposed; 0 where no visit is. */
  minutes: z.int(),
  /** The numbers and the window it used. */
  evidence: z.record(z.string(), z.union([z.number(), z.string(), z.null()])),
  /** The same for whoever looks after the rooms, and for the client at home; empty where it is no matter of theirs. */
  toVenue: z.string(),
  toClient: z.string(),
  /** Of this episode only: one that begins anew is not acknowledged. */
  acknowledged: z.nullable(z.object({ atMs: timeMs, by: z.string(), note: z.string() })),
  snoozedUntilMs: z.nullable(timeMs),
  /** Why it is frozen: data gone stale, or a sensor that is not to be trusted. */
  frozenBecause: z.nullable(z.string()),
  endedBecause: z.nullable(z.string()),
  /** The venue-wide notice this one is told under. */
  partOf: z.nullable(id),
  /** How many notices are told under this one. */
  members: z.int(),
});
export type Notice = z.infer<typeof notice>;

export const call = z.object({
  id,
  kind: z.enum(callKinds),
  instrumentId: z.nullable(id),
  place: z.string(),
  venueName: z.string(),
  timeZone: z.string(),
  urgency: class0to3,
  why: z.string(),
  earliestMs: timeMs,
  latestMs: z.nullable(timeMs),
  minutes: z.int(),
  cautions: z.array(z.string()),
  noticeIds: z.array(id),
  venueId: z.nullable(id),
  /** What to have in the bag. */
  bring: z.array(z.string()),
  /** What somebody decided about it; null while nobody did. Of this episode: a fresh cause asks anew. */
  choice: z.nullable(
    z.object({
      choice: z.enum(['accepted', 'declined']),
      plannedMs: z.nullable(timeMs),
      personId: z.nullable(id),
      reason: z.string(),
      chosenMs: timeMs,
    }),
  ),
});
export type Call = z.infer<typeof call>;

/** The sentence first. `urgent` puts the word "Now:" before it. */
export const advice = z.object({
  urgency: class0to3,
  urgent: z.boolean(),
  sentence: z.string(),
  /** What to do, or "Nothing to do." */
  toDo: z.string(),
  cautions: z.array(z.string()),
});
export type Advice = z.infer<typeof advice>;

export const instrumentSummary = z.intersection(
  instrument,
  z.object({
    venueId: id,
    venueName: z.string(),
    timeZone: z.string(),
    roomName: z.string(),
    advice,
    boardMoisturePct: z.nullable(z.number()),
    /** Dry and wet class 0-3 of the board; null where nothing is known or the board is laminated. */
    boardClass: z.nullable(class0to3),
    inside: z.nullable(airNow),
    room: z.nullable(airNow),
    lastTunedMs: z.nullable(timeMs),
    /** The year strip: mean board moisture of each of 365 days, the last one the day of `endMs`. */
    strip: z.object({
      endMs: timeMs,
      moisturePct: z.array(z.nullable(z.number())),
      visitsMs: z.array(timeMs),
    }),
  }),
);
export type InstrumentSummary = z.infer<typeof instrumentSummary>;

export const instrumentPage = z.intersection(
  instrumentSummary,
  z.object({
    notices: z.array(notice),
    calls: z.array(call),
    visits: z.array(visit),
    registers: z.array(registerPitch),
    whole: z.nullable(wholePitch),
    tolerance,
  }),
);
export type InstrumentPage = z.infer<typeof instrumentPage>;
