/** What a player, client or venue reports between visits: kept with its date, opened on the next sheet, answered there. */
import * as z from 'zod/mini';
import { id, timeMs } from './quantities.ts';

export const remarkBody = z.object({
  instrumentId: id,
  atMs: timeMs,
  /** Who said it, where that is known: "venue, by telephone". */
  from: z.string().check(z.maxLength(120)),
  words: z.string().check(z.trim(), z.minLength(1), z.maxLength(4000)),
});
export type RemarkBody = z.infer<typeof remarkBody>;

export const remark = z.extend(remarkBody, {
  id,
  answer: z.nullable(z.object({ visitId: id, atMs: timeMs, words: z.string() })),
});
export type Remark = z.infer<typeof remark>;

/** The remark as kept, and what can be said of it at once, while the caller is on the telephone. */
export const remarkAnswer = z.object({ remark, reply: z.string() });
export type RemarkAnswer = z.infer<typeof remarkAnswer>;
