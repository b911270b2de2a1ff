/** What work is proposed, and what it takes: times with a range, parts, an hourly rate, and three sums. */
import * as z from 'zod/mini';
import { type JobId, jobIds, type Minutes } from './inspection/jobs.ts';

export const minutesRange = z
  .object({
    least: z.int().check(z.gte(0), z.lte(100_000)),
    likely: z.int().check(z.gte(0), z.lte(100_000)),
    most: z.int().check(z.gte(0), z.lte(100_000)),
  })
  .check(
    z.refine((m) => m.least <= m.likely && m.likely <= m.most, {
      message: 'must lie between least and most',
      path: ['likely'],
    }),
  );

export const options = ['must', 'should', 'could'] as const;
export type Option = (typeof options)[number];

export const estimateLine = z.object({
  job: z.enum(jobIds),
  name: z.string().check(z.trim(), z.minLength(1), z.maxLength(200)),
  option: z.enum(options),
  /** How many of them, for works that count: two ribs, three centres. */
  count: z.int().check(z.gte(1), z.lte(400)),
  /** Of one. */
  minutes: minutesRange,
  /** Parts of one, in hundredths of the currency. */
  partsCents: z.int().check(z.gte(0), z.lte(100_000_000)),
  /** Items whose findings ask for it. */
  itemIds: z.array(z.string().check(z.maxLength(80))).check(z.maxLength(100)),
});
export type EstimateLine = z.infer<typeof estimateLine>;

export const estimate = z.object({
  /** Hundredths of the currency an hour; null: times only. */
  ratePerHourCents: z.nullable(z.int().check(z.gte(0), z.lte(100_000_000))),
  /** ISO 4217. */
  currency: z.string().check(z.regex(/^[A-Z]{3}$/, 'must be three capital letters such as EUR (ISO 4217)')),
  lines: z.array(estimateLine).check(z.maxLength(200)),
});
export type Estimate = z.infer<typeof estimate>;

export interface Sum {
  readonly minutes: Minutes;
  /** Work and parts in hundredths of the currency; null without a rate. */
  readonly cents: Minutes | null;
}

/**
 * Works of different hands and days are independent, so that the least of all together is less likely than the least
 * of one: likely times add; distances to least and most add by squares.
 */
export function sumOf(lines: readonly EstimateLine[], ratePerHourCents: number | null): Sum {
  let likely = 0;
  let below = 0;
  let above = 0;
  let parts = 0;
  for (const { count, minutes, partsCents } of lines) {
    likely += count * minutes.likely;
    // The same kind of work goes as slowly each time it is done: counts add plainly.
    below += (count * (minutes.likely - minutes.least)) ** 2;
    above += (count * (minutes.most - minutes.likely)) ** 2;
    parts += count * partsCents;
  }
  const minutes = {
    least: Math.round(likely - Math.sqrt(below)),
    likely,
    most: Math.round(likely + Math.sqrt(above)),
  };
  if (ratePerHourCents === null) return { minutes, cents: null };
  const price = (some: number) => Math.round((some / 60) * ratePerHourCents) + parts;
  return {
    minutes,
    cents: { least: price(minutes.least), likely: price(minutes.likely), most: price(minutes.most) },
  };
}

/** Times a technician took for a job, as far as his own visits tell. */
export interface OwnTimes {
  readonly count: number;
  readonly minutes: Minutes;
}

/** From so many own times on they take the place of the trade's. */
const enough = 3;

/** The trade's figures, or one's own once there are enough of them. */
export function timesFor(job: JobId, usual: Minutes, own: Readonly<Record<string, OwnTimes>>): Minutes {
  const mine = own[job];
  return mine && mine.count >= enough ? mine.minutes : usual;
}

/** Least, middle and most of what it took; null for none. Outliers: the tenth at each end is left out from ten on. */
export function ownTimes(taken: readonly number[]): OwnTimes | null {
  if (taken.length === 0) return null;
  const sorted = taken.toSorted((a, b) => a - b);
  const cut = Math.floor(sorted.length / 10);
  const kept = sorted.slice(cut, sorted.length - cut);
  const at = (share: number) => Math.round(kept[Math.round(share * (kept.length - 1))] ?? 0);
  return { count: taken.length, minutes: { least: at(0), likely: at(0.5), most: at(1) } };
}

/** Urgency says what is not put off. */
export const optionFor = (urgencyClass: number): Option =>
  urgencyClass >= 3 ? 'must' : urgencyClass === 2 ? 'should' : 'could';
