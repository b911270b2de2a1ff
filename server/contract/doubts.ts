/** Readings that are kept as they came but left out of what is computed, because they jumped and came back. */
import * as z from 'zod/mini';
import { id, timeMs } from './quantities.ts';

const sent = z.nullable(z.number());

/** Readings of [fromMs, untilMs) that stand close together. */
const stretch = { fromMs: timeMs, untilMs: timeMs, readings: z.int() };

export const leftOut = z.object({ sensorId: id, urn: z.string(), ...stretch });
export type LeftOut = z.infer<typeof leftOut>;

export const doubtedStretch = z.object({
  ...stretch,
  /** Somebody said that they are air after all: they count. */
  believed: z.boolean(),
  /** As they were sent; null where none said it. */
  leastPct: sent,
  mostPct: sent,
  leastC: sent,
  mostC: sent,
});
export type DoubtedStretch = z.infer<typeof doubtedStretch>;

export const doubtsPage = z.object({
  sensorId: id,
  urn: z.string(),
  /** Newest first, so many of them. */
  stretches: z.array(doubtedStretch),
});
export type DoubtsPage = z.infer<typeof doubtsPage>;

export const beliefBody = z.object({ fromMs: timeMs, untilMs: timeMs, believed: z.boolean() }).check(
  z.refine((body) => body.untilMs > body.fromMs, {
    message: 'must be later than fromMs',
    path: ['untilMs'],
  }),
);
export type BeliefBody = z.infer<typeof beliefBody>;
