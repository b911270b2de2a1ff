/** What stands where: venues, rooms, instruments, sensors and their dated placements. */
import * as z from 'zod/mini';
import { correction } from './calibrations.ts';
import { airNow, humidityPct, id, name, timeMs, use } from './quantities.ts';

function knownTimeZone(zone: string): boolean {
  try {
    new Intl.DateTimeFormat('en', { timeZone: zone });
    return true;
  } catch {
    return false;
  }
}

export const venueBody = z.object({
  name,
  /** IANA name; dates of this venue are shown in it. */
  timeZone: z.string().check(z.refine(knownTimeZone, 'must be an IANA time zone such as Europe/Vienna')),
  /** How long it takes to get there, one way; null or left out: not said, taken as half an hour. */
  wayMinutes: z.optional(z.nullable(z.int().check(z.gte(0), z.lte(720)))),
});
export const venue = z.extend(venueBody, { id });
export type Venue = z.infer<typeof venue>;

/** Of the windows: how warm their coldest glass stays in frost, and so how far the air may be raised. */
export const glazings = ['single', 'double', 'triple'] as const;

export const roomBody = z
  .object({
    venueId: id,
    name,
    volumeM3: z.nullable(z.number().check(z.gte(1), z.lte(100_000))),
    airChangesPerHour: z.nullable(z.number().check(z.gte(0), z.lte(50))),
    /** The band of relative humidity wished for this room. */
    wishedLowPct: humidityPct,
    wishedHighPct: humidityPct,
    /** null or left out: not known, taken as double. */
    glazing: z.optional(z.nullable(z.enum(glazings))),
    /** Does a humidifier stand here that somebody fills? null or left out: not said. */
    humidifier: z.optional(z.nullable(z.boolean())),
    /** The room whose air speaks for this one while it has no sensor of its own. */
    borrowsRoomId: z.optional(z.nullable(id)),
  })
  .check(
    z.refine((room) => room.wishedLowPct < room.wishedHighPct, {
      message: 'must be above wishedLowPct',
      path: ['wishedHighPct'],
    }),
  );
export const room = z.intersection(roomBody, z.object({ id }));
export type Room = z.infer<typeof room>;

export const finishes = ['bare', 'shellac', 'lacquer', 'varnish', 'polyurethane'] as const;
export const boardSpecies = [
  'spruce-sitka',
  'spruce-engelmann',
  'spruce-red',
  'spruce-white',
  'spruce-black',
] as const;

export const board = z.object({
  species: z.enum(boardSpecies),
  thicknessMm: z.number().check(z.gte(3), z.lte(15)),
  finish: z.enum(finishes),
  construction: z.enum(['solid', 'laminated']),
  /** Moisture of the wood when the ribs were glued on, where it is known. */
  ribbedAtMoisturePct: z.nullable(z.number().check(z.gte(2), z.lte(20))),
});
export type Board = z.infer<typeof board>;

export const instrumentBody = z.object({
  roomId: id,
  name,
  kind: z.enum(['grand', 'upright']),
  /** Length of a grand, height of an upright. */
  sizeCm: z.nullable(z.number().check(z.gte(80), z.lte(350))),
  year: z.nullable(z.int().check(z.gte(1700), z.lte(2200))),
  serial: z.nullable(z.string().check(z.maxLength(60))),
  /** A4 of this instrument; 440 Hz (ISO 16) unless its house plays otherwise. */
  pitchStandardHz: z.number().check(z.gte(392), z.lte(470)),
  use,
  board,
  /** What else the technician wants to remember: humidity control fitted, owner, where the key is. */
  remarks: z.string().check(z.maxLength(2000)),
});
export const instrument = z.extend(instrumentBody, { id });
export type Instrument = z.infer<typeof instrument>;
export type InstrumentBody = z.infer<typeof instrumentBody>;

export const spots = ['room', 'inside', 'outdoors'] as const;

/** Where a sensor stood from when until when. Exactly one of the three ids, the one its spot asks for. */
export const placementBody = z
  .object({
    sensorId: id,
    /** room: the air of a room; inside: under the board or within the case of an instrument; outdoors: at a venue. */
    spot: z.enum(spots),
    roomId: z.nullable(id),
    instrumentId: z.nullable(id),
    venueId: z.nullable(id),
    fromMs: timeMs,
    untilMs: z.nullable(timeMs),
  })
  .check(
    z.refine((p) => (p.spot === 'room') === (p.roomId !== null), {
      message: 'must be given for the spot "room", and only for it',
      path: ['roomId'],
    }),
    z.refine((p) => (p.spot === 'inside') === (p.instrumentId !== null), {
      message: 'must be given for the spot "inside", and only for it',
      path: ['instrumentId'],
    }),
    z.refine((p) => (p.spot === 'outdoors') === (p.venueId !== null), {
      message: 'must be given for the spot "outdoors", and only for it',
      path: ['venueId'],
    }),
    z.refine((p) => p.untilMs === null || p.untilMs > p.fromMs, {
      message: 'must be later than fromMs',
      path: ['untilMs'],
    }),
  );
export const placement = z.intersection(placementBody, z.object({ id }));
export type Placement = z.infer<typeof placement>;
export type PlacementBody = z.infer<typeof placementBody>;

export const sensor = z.object({
  id,
  /** The name it publishes under, such as urn:dev:mac:0024befffe804ff1. */
  urn: z.string(),
  firstSeenMs: timeMs,
  /** Put right by the calibration that holds. */
  last: z.nullable(airNow),
  /** The calibration that holds now; null: it is taken as it sends. */
  correction: z.nullable(correction),
  /** What seems to be wrong with it, each in a sentence with what helps. */
  signs: z.array(z.string()),
  /** How many of its readings are left out as in doubt. */
  leftOut: z.int(),
  batteryPct: z.nullable(z.number()),
  /** Usual time between its readings, learned; null until it has sent enough. */
  intervalMs: z.nullable(z.number()),
  silent: z.boolean(),
  /** Where it stands now. */
  placement: z.nullable(placement),
  /** The same in words: "Studio 4, inside Grand 208 cm". */
  placedAt: z.nullable(z.string()),
});
export type Sensor = z.infer<typeof sensor>;

/** Messages set aside, by gateway and reason; nothing is thrown away unseen. */
export const refusedTally = z.object({
  gateway: z.nullable(z.string()),
  reason: z.string(),
  count: z.int(),
  lastMs: timeMs,
  /** One example, in a sentence. */
  sentence: z.string(),
  /** Somebody has looked at it, and none has come since. */
  seen: z.boolean(),
});
export type RefusedTally = z.infer<typeof refusedTally>;

export const refusedSeen = z.object({
  gateway: z.nullable(z.string()),
  reason: z.string(),
  /** The last that was looked at: what came later is not. null: none of it. */
  untilMs: z.nullable(timeMs),
});
export type RefusedSeen = z.infer<typeof refusedSeen>;

export const sensorsPage = z.object({ sensors: z.array(sensor), refused: z.array(refusedTally) });
export type SensorsPage = z.infer<typeof sensorsPage>;

export const roomNow = z.intersection(
  room,
  z.object({ venueName: z.string(), now: z.nullable(airNow), instruments: z.int() }),
);
export type RoomNow = z.infer<typeof roomNow>;
