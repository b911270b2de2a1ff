/** The second form of a visit's envelope: what was examined, pins, work, humidity control, photos, estimate, signature. */
import * as z from 'zod/mini';
import { estimate } from './estimate.ts';
import { jobIds } from './inspection/jobs.ts';
import { pinFeels, pinSections } from './inspection/pins.ts';
import { class0to3, id, timeMs, words } from './quantities.ts';

const itemId = z.string().check(z.minLength(1), z.maxLength(80));
const short = z.string().check(z.maxLength(400));

/** Keys of the piano, 1 = A0 to 88 = C8; some have a few more. */
export const notesRange = z
  .object({ low: z.int().check(z.gte(1), z.lte(108)), high: z.int().check(z.gte(1), z.lte(108)) })
  .check(z.refine((r) => r.low <= r.high, { message: 'must not be below the lower note', path: ['high'] }));

/** A grade given earlier in the same visit; it stays beside the one that counts, with why it was changed. */
export const earlierGrade = z.object({ conditionClass: class0to3, atMs: timeMs, why: short });

export const photoStages = ['outside before work', 'finding', 'other'] as const;
export const photoNote = z.object({
  id,
  stage: z.enum(photoStages),
  itemId: z.nullable(itemId),
  caption: short,
  /** Where on the picture, as shares of its width and height from the upper left. */
  mark: z.nullable(
    z.object({ x: z.number().check(z.gte(0), z.lte(1)), y: z.number().check(z.gte(0), z.lte(1)) }),
  ),
  bytes: z.int().check(z.gte(1), z.lte(100_000_000)),
});
export type PhotoNote = z.infer<typeof photoNote>;

export const pinSample = z.object({
  section: z.enum(pinSections),
  torqueNm: z.nullable(z.number().check(z.gte(0), z.lte(40))),
  feel: z.nullable(z.enum(pinFeels)),
  holds: z.nullable(z.boolean()),
});
export type PinSampleEntry = z.infer<typeof pinSample>;

export const controlParts = ['moistening side', 'drying side', 'controller', 'water level', 'power'] as const;
export const controlStates = ['works', 'weak', 'does not work', 'not fitted', 'not examined'] as const;
export const controlService = z.object({
  part: z.enum(controlParts),
  state: z.enum(controlStates),
  /** What was done: "filled, pads changed". */
  action: short,
});

export const workDone = z.object({
  job: z.enum(jobIds),
  words: short,
  minutes: z.nullable(z.int().check(z.gte(0), z.lte(6000))),
});

/** A pen's way over a field of 1000 by 300, stroke by stroke: x, y, x, y … */
export const signature = z.object({
  by: z.string().check(z.trim(), z.minLength(1), z.maxLength(120)),
  strokes: z
    .array(z.array(z.int().check(z.gte(0), z.lte(1000))).check(z.maxLength(4000)))
    .check(z.maxLength(200)),
});

export const visitSheet = z.object({
  kind: z.enum(['grand', 'upright']),
  beganMs: timeMs,
  /** By how much the device's clock was ahead of the server's; the times of this visit are put right by it. */
  clockAheadMs: z.optional(z.int()),
  /** Items looked at and without symptoms. */
  sound: z.array(itemId).check(z.maxLength(400)),
  notExamined: z.array(z.object({ itemId, why: short })).check(z.maxLength(400)),
  /** Values measured at items without symptoms; those of findings stand there. */
  measured: z.array(z.object({ itemId, value: z.number() })).check(z.maxLength(400)),
  pins: z.array(pinSample).check(z.maxLength(120)),
  /** Screws and case parts taken off, and where they lie. */
  takenOff: z.array(z.object({ place: short, words: short })).check(z.maxLength(60)),
  workDone: z.array(workDone).check(z.maxLength(100)),
  control: z.array(controlService).check(z.maxLength(10)),
  photos: z.array(photoNote).check(z.maxLength(60)),
  remarksAnswered: z.array(z.object({ remarkId: id, answer: words })).check(z.maxLength(60)),
  estimate: z.nullable(estimate),
  signature: z.nullable(signature),
});
export type VisitSheet = z.infer<typeof visitSheet>;

/** What the server says once a photo is on its disk. */
export const photoReceipt = z.object({ id, sha256: z.string(), widthPx: z.int(), heightPx: z.int() });
export type PhotoReceipt = z.infer<typeof photoReceipt>;

/** How much of a photo is there, so that a sending that was cut goes on where it stopped. */
export const photoReceived = z.object({ receivedBytes: z.int(), whole: z.boolean() });
export type PhotoReceived = z.infer<typeof photoReceived>;
