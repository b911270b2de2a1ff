/** What was heard of the unisons of one register: which and how many were sampled, and how wide, in cents or in a word. */
import * as z from 'zod/mini';
import { register } from './quantities.ts';

/** Where nothing was measured, what the ear says: about 1, 2 to 3, over 3 cents (proposal). */
export const spreadWords = ['clean', 'slow beat', 'sour'] as const;
export type SpreadWord = (typeof spreadWords)[number];

export const unisonSample = z
  .object({
    register,
    /** Keys whose unisons were sampled, 1 = A0; empty where nobody wrote down which. */
    keys: z.array(z.int().check(z.gte(1), z.lte(108))).check(z.maxLength(108)),
    /** How many they were; null where nobody counted. */
    sampled: z.nullable(z.int().check(z.gte(1), z.lte(108))),
    /** 90th percentile of the string-to-string spread over the unisons sampled; or what the ear said, where nothing was measured. */
    cents: z.nullable(z.number().check(z.gte(0), z.lte(200))),
    word: z.nullable(z.enum(spreadWords)),
  })
  .check(
    z.refine(({ cents, word }) => (cents === null) !== (word === null), {
      message: 'must be given where no word is, and not beside one',
      path: ['cents'],
    }),
    z.refine(({ keys }) => new Set(keys).size === keys.length, {
      message: 'names a key twice',
      path: ['keys'],
    }),
    z.refine(({ keys, sampled }) => sampled === null || keys.length <= sampled, {
      message: 'must not be fewer than the keys named',
      path: ['sampled'],
    }),
  );
export type UnisonSample = z.infer<typeof unisonSample>;

/** Each register at most once; a register that is not there was not listened to, which is not zero. */
export const unisonSamples = z.array(unisonSample).check(
  z.maxLength(5),
  z.refine((samples) => new Set(samples.map((one) => one.register)).size === samples.length, {
    message: 'names a register twice',
  }),
);
