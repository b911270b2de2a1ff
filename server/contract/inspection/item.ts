/**
 * What is looked at in an inspection, as data: the same list makes the sheet on the phone, its check on the server, the
 * report and the blank sheet on paper. Ids are kept for ever, since visits name them.
 */
import type { assemblies } from '../visits.ts';
import type { JobId } from './jobs.ts';

/** The state the instrument is in while one looks: each is entered once, so that nothing is taken apart twice. */
export const stages = ['closed', 'opened', 'from below', 'action out', 'action back in'] as const;
export type Stage = (typeof stages)[number];
export type Kind = 'grand' | 'upright';
export type Assembly = (typeof assemblies)[number];

/** Normal from `low` to `high`; null: open on that side. */
export interface Range {
  readonly low: number | null;
  readonly high: number | null;
}

export interface Measure {
  readonly unit: string;
  readonly normal: Range | Readonly<Record<Kind, Range>>;
  /** Beyond these the entry was mistyped, or another unit was meant. */
  readonly plausible: { readonly low: number; readonly high: number };
  /** Other units it may be typed in: one of them is so many of `unit`. */
  readonly alsoIn?: Readonly<Record<string, number>>;
  /** Where the normal range comes from. */
  readonly source: 'common practice, no source' | 'from memory';
}

export interface Item {
  readonly id: string;
  readonly name: string;
  /** How it is looked at; what is normal, where that is no number. */
  readonly how: string;
  readonly kinds?: readonly Kind[];
  readonly measure?: Measure;
  /** Said by one tap. */
  readonly quick: readonly string[];
  /** The work proposed when there is something. */
  readonly job: JobId;
  /** How much a finding here raises what humidity does to the instrument, 0 to 3 (proposal). */
  readonly raisesRisk: 0 | 1 | 2 | 3;
  /** The board's limits know this finding, from this condition class on. */
  readonly board?: { readonly part: string; readonly fromClass: 1 | 2 | 3 };
  readonly caution?: string;
  /** Urgency is one class lower (trifles for the eye) or higher (what gets worse by waiting) than the condition. */
  readonly urgencyShift?: -1 | 1;
  /** Pins are sampled in every section instead of measured once. */
  readonly sampled?: true;
  /** What may have caused a finding here: items to link to. */
  readonly causes?: readonly string[];
}

/** An assembly at one stage: one tap says that all of it is without symptoms. */
export interface Group {
  readonly id: string;
  readonly stage: Stage;
  readonly assembly: Assembly;
  readonly name: string;
  readonly kinds?: readonly Kind[];
  readonly items: readonly Item[];
}

export function normalOf(measure: Measure, kind: Kind): Range {
  return 'low' in measure.normal ? measure.normal : measure.normal[kind];
}
