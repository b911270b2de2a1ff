/** Rooms as whoever looks after them sees them: what to do today, how the air has been, how much water it takes. */
import * as z from 'zod/mini';
import { leftOut } from './doubts.ts';
import { airNow, humidityPct, id, nullableNumbers, timeMs } from './quantities.ts';
import { room } from './registry.ts';

/**
 * fit: nothing to do. dry, damp: the air asks for it. control: humidity control in a piano has stopped. sensor: nothing
 * new is heard. piano: a piano asks for something else. unknown: nothing ever measured this air.
 */
export const roomStates = ['fit', 'dry', 'damp', 'control', 'sensor', 'piano', 'unknown'] as const;
export type RoomState = (typeof roomStates)[number];

export const roomAdvice = z.object({
  state: z.enum(roomStates),
  /** What to do today, or "Nothing to do." */
  sentence: z.string(),
  /** What it rests on, in a sentence. */
  because: z.string(),
  /** What else there is to see to. */
  also: z.array(z.string()),
  cautions: z.array(z.string()),
  /** Does somebody have to lend a hand? Then it stands among the venue's tasks, and can be ticked. */
  task: z.boolean(),
  /** Relative humidity to set today, and tomorrow if all goes well. */
  aimPct: z.nullable(humidityPct),
  tomorrowPct: z.nullable(humidityPct),
  /** Water to add (above 0) or to take away (below 0) to hold the aim in today's weather; null where that is unknown. */
  litresPerDay: z.nullable(z.number()),
  /** Ticked today, by whoever opened the venue's task link. */
  doneMs: z.nullable(timeMs),
});
export type RoomAdvice = z.infer<typeof roomAdvice>;

export const roomToday = z.intersection(
  room,
  z.object({
    venueName: z.string(),
    timeZone: z.string(),
    instruments: z.array(z.object({ id, name: z.string() })),
    /** The newest word of its own sensors, or of the room it borrows from. */
    now: z.nullable(airNow),
    borrowedFrom: z.nullable(z.string()),
    today: roomAdvice,
    lastMonth: z.object({
      /** Share of the measured hours within what is wished, 0-1; expected share where the air is borrowed. */
      within: z.nullable(z.number()),
      hours: z.int(),
    }),
    /** Mean humidity of each of 365 UTC days, the last one the day of `endMs`. */
    strip: z.object({ endMs: timeMs, humidityPct: nullableNumbers }),
  }),
);
export type RoomToday = z.infer<typeof roomToday>;

/** Outdoor air, from where: a sensor outdoors, or the weather somebody typed. */
export const outdoors = z.object({
  temperatureC: z.number(),
  humidityPct,
  /** The lowest of today and the night to come. */
  lowC: z.number(),
  from: z.enum(['sensor', 'typed']),
});
export type Outdoors = z.infer<typeof outdoors>;

export const roomDetail = z.intersection(
  roomToday,
  z.object({
    /** The last day, hour by hour; each is the start of its hour. */
    lastDay: z.object({
      timesMs: z.array(timeMs),
      humidityPct: nullableNumbers,
      temperatureC: nullableNumbers,
      within: z.nullable(z.number()),
      /** Where readings of its sensors are left out. */
      leftOut: z.array(leftOut),
    }),
    outdoors: z.nullable(outdoors),
    /** Up to which humidity the windows stay dry in the coming night, %; null: unknown. */
    windowsDryUpToPct: z.nullable(z.number()),
    /** Water a day to hold the lower edge of what is wished, in weathers of the year; null: volume or air changes unknown. */
    water: z.nullable(
      z.object({
        holdPct: humidityPct,
        temperatureC: z.number(),
        weathers: z.array(z.object({ says: z.string(), litresPerDay: z.number() })),
        sentence: z.string(),
      }),
    ),
    /** What its own past made the wood used to (EN 15757); null while less than a year and a month is known. */
    past: z.nullable(
      z.object({
        lowPct: z.number(),
        highPct: z.number(),
        meanPct: z.number(),
        caution: z.nullable(z.string()),
      }),
    ),
  }),
);
export type RoomDetail = z.infer<typeof roomDetail>;

/** One task somebody ticked at a venue. */
export const venueTask = z.object({
  id,
  venueId: id,
  venueName: z.string(),
  roomId: z.nullable(id),
  roomName: z.string(),
  timeZone: z.string(),
  task: z.string(),
  note: z.string(),
  doneMs: timeMs,
  seenMs: z.nullable(timeMs),
  photo: z.boolean(),
});
export type VenueTask = z.infer<typeof venueTask>;

/** What a client answered on the care page. */
export const careAnswer = z.object({
  id,
  instrumentId: id,
  place: z.string(),
  client: z.string(),
  timeZone: z.string(),
  answer: z.enum(['done', 'call me', 'date']),
  /** The day that was chosen, for the answer "date". */
  dateMs: z.nullable(timeMs),
  answeredMs: timeMs,
});
export type CareAnswer = z.infer<typeof careAnswer>;

export const taskLink = z.object({
  venueId: id,
  madeMs: timeMs,
  usedMs: z.nullable(timeMs),
});
export type TaskLink = z.infer<typeof taskLink>;
