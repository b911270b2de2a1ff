/** What POST /api/readings answers, and what /health says. */
import * as z from 'zod/mini';
import { timeMs } from './quantities.ts';

export const readingsAnswer = z.object({
  stored: z.int(),
  /** null: the store cannot tell. */
  duplicates: z.nullable(z.int()),
  conflicts: z.nullable(z.int()),
  refused: z.array(z.object({ reason: z.string(), sentence: z.string() })),
});
export type ReadingsAnswer = z.infer<typeof readingsAnswer>;

export const health = z.object({
  status: z.literal('ok'),
  version: z.string(),
  lastReadingMs: z.nullable(timeMs),
  broker: z.object({ port: z.int(), clients: z.int() }),
});
export type Health = z.infer<typeof health>;

/** RFC 9457 problem details; `detail` is one sentence that names the field. */
export const problem = z.object({
  type: z.string(),
  title: z.string(),
  status: z.int(),
  detail: z.string(),
  faults: z.optional(z.array(z.object({ field: z.string(), sentence: z.string() }))),
});
export type Problem = z.infer<typeof problem>;
