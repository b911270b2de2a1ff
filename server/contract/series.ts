/** The climate of an instrument and what its wood and pitch did, as columns on one ascending grid. */
import * as z from 'zod/mini';
import { leftOut } from './doubts.ts';
import { airColumns, nullableNumbers, register, timeMs } from './quantities.ts';

export const climate = z.object({
  fromMs: timeMs,
  untilMs: timeMs,
  /** Ascending; each is the middle of its bucket. All arrays below have this length, null for gaps. */
  timesMs: z.array(timeMs),
  room: z.nullable(airColumns),
  inside: z.nullable(airColumns),
  /** Where readings of its sensors are left out; ascending for each sensor. */
  leftOut: z.array(leftOut),
  board: z.object({
    /** Mean moisture through the thickness of the soundboard. */
    moisturePct: nullableNumbers,
    /** True where the air was unknown for over 48 h and the last profile is held. */
    uncertain: z.array(z.boolean()),
  }),
});
export type Climate = z.infer<typeof climate>;

export const tolerance = z.object({ levelCents: z.number(), stepCents: z.number(), unisonCents: z.number() });
export type Tolerance = z.infer<typeof tolerance>;

export const registerPitch = z.object({
  register,
  /** Predicted offset from the instrument's own standard, with its standard deviation; null before the first tuning. */
  offsetCents: z.nullable(z.number()),
  sdCents: z.nullable(z.number()),
  /** Chance that this register stands farther off than the tolerance of the level, 0-1. One register alone decides nothing: see `wholePitch`. */
  beyondTolerance: z.nullable(z.number()),
});
export type RegisterPitch = z.infer<typeof registerPitch>;

/** The pitch as a whole, by which notices and forecasts decide. */
export const wholePitch = z.object({
  /** Median of the registers' predicted offsets. */
  levelCents: z.number(),
  /** Chance that the level, or the step at a break, is out of tolerance now, 0-1. */
  beyond: z.number(),
});
export type WholePitch = z.infer<typeof wholePitch>;

export const pitch = z.object({
  standardHz: z.number(),
  tolerance,
  lastTunedMs: z.nullable(timeMs),
  /** What the prediction rests on, in one sentence. */
  basis: z.string(),
  now: z.array(registerPitch),
  whole: z.nullable(wholePitch),
  /** Predicted course since the window's start; jumps where a register was heard. null where it was not yet, or no climate is known. */
  course: z.object({
    timesMs: z.array(timeMs),
    registers: z.array(z.object({ register, offsetCents: nullableNumbers, sdCents: nullableNumbers })),
  }),
  /** Tunings and other visits in the window. */
  visits: z.array(z.object({ id: z.uuid(), atMs: timeMs, tuned: z.boolean() })),
});
export type Pitch = z.infer<typeof pitch>;
