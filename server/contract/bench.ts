/** The decode bench: how a gateway's payloads are read, what was set aside, and what a profile makes of it. */
import * as z from 'zod/mini';
import { timeMs } from './quantities.ts';

export const measuredQuantities = ['humidityPct', 'temperatureC', 'batteryPct'] as const;
export const profileUnits = ['Cel', 'K', 'degF', '%RH', '%EL', 'ratio'] as const;

const quantity = z.enum(measuredQuantities);
const pointer = z.string().check(z.maxLength(500));
/** What is sent is multiplied by `scale`, and then in `unit`. */
const measure = { quantity, unit: z.optional(z.enum(profileUnits)), scale: z.optional(z.number()) };

/** Shapes only; the rules a profile must keep are checked where payloads are read, in sentences. */
export const gatewayProfile = z.discriminatedUnion('kind', [
  z.object({ kind: z.literal('senml') }),
  z.object({
    kind: z.literal('mapped'),
    each: z.optional(pointer),
    sensor: z.optional(pointer),
    prefix: z.optional(z.string()),
    time: z.optional(z.object({ at: pointer, as: z.enum(['iso', 's', 'ms']) })),
    values: z.array(
      z.object({ at: pointer, where: z.optional(z.object({ at: pointer, is: z.string() })), ...measure }),
    ),
  }),
  z.object({
    kind: z.literal('plain-value'),
    topic: z.string().check(z.maxLength(500)),
    prefix: z.optional(z.string()),
    quantities: z.record(z.string(), z.object(measure)),
  }),
]);
export type GatewayProfile = z.infer<typeof gatewayProfile>;

export const gatewayNow = z.object({
  name: z.string(),
  profile: gatewayProfile,
  /** Messages of it that are set aside and kept whole. */
  setAside: z.int(),
});
export type GatewayNow = z.infer<typeof gatewayNow>;

export const setAsideMessage = z.object({
  id: z.int(),
  gateway: z.nullable(z.string()),
  receivedMs: timeMs,
  topic: z.string(),
  reason: z.string(),
  sentence: z.string(),
  bytes: z.int(),
  /** Its beginning as text; null where it is none (CBOR, say). */
  text: z.nullable(z.string()),
  /** Whether `text` is all of it. */
  whole: z.boolean(),
});
export type SetAsideMessage = z.infer<typeof setAsideMessage>;

/** What to try a profile on: a message that is set aside, or one that was pasted. */
export const benchTrial = z.object({
  profile: gatewayProfile,
  setAsideId: z.optional(z.int()),
  topic: z.optional(z.string().check(z.maxLength(1000))),
  text: z.optional(z.string().check(z.maxLength(200_000))),
});

export const benchStep = z.object({
  entry: z.int(),
  means: z.enum(['sensor', 'time', ...measuredQuantities]),
  at: z.string(),
  found: z.string(),
  kept: z.nullable(z.union([z.string(), z.number()])),
  fault: z.nullable(z.string()),
});
export type BenchStep = z.infer<typeof benchStep>;

export const benchOutcome = z.object({
  /** Of the first entries only. */
  steps: z.array(benchStep),
  readings: z.array(
    z.object({
      sensor: z.string(),
      timeMs,
      humidityPct: z.nullable(z.number()),
      temperatureC: z.nullable(z.number()),
      batteryPct: z.nullable(z.number()),
    }),
  ),
  /** How many readings it would give in all. */
  total: z.int(),
  refused: z.array(z.object({ reason: z.string(), sentence: z.string() })),
  skipped: z.int(),
});
export type BenchOutcome = z.infer<typeof benchOutcome>;

export const replayed = z.object({
  /** Messages of which nothing is refused any more. */
  read: z.int(),
  /** Messages that stay set aside. */
  left: z.int(),
  stored: z.int(),
  duplicates: z.int(),
  conflicts: z.int(),
  /** Why the first of those stays. */
  sentence: z.nullable(z.string()),
});
export type Replayed = z.infer<typeof replayed>;
