/** From findings to proposed work: one line a job, its time the trade's or one's own, changes by hand on top. */
import type { Estimate, EstimateLine, OwnTimes, Workshop } from '../../server/contract/index.ts';
import {
  itemOf,
  type JobId,
  jobOf,
  optionFor,
  proposedUrgency,
  timesFor,
} from '../../server/contract/index.ts';
import { typed } from '../words/numbers.ts';
import type { SheetDraft } from './draft.ts';

/** What was typed, so many to one of it, in whole ones; null for nothing, or for what cannot be: that is among the faults. */
const whole = (text: string | undefined, of = 1): number | null => {
  const value = text === undefined ? null : typed(text);
  return value === null || Number.isNaN(value) || value < 0 ? null : Math.round(value * of);
};

/** What was done in this visit needs no proposing, unless somebody asks for it: a part of it may be left. */
export const isDropped = ({ lines, workDone }: SheetDraft, job: string): boolean =>
  lines[job]?.dropped ?? workDone.some((one) => one.job === job);

export function proposedLines(
  draft: SheetDraft,
  ownTimes: Readonly<Record<string, OwnTimes>>,
): EstimateLine[] {
  const byJob = new Map<JobId, { itemIds: string[]; urgency: number }>();
  for (const [itemId, answer] of Object.entries(draft.answers)) {
    const item = itemOf(itemId)?.item;
    if (!item || !answer.conditionClass) continue;
    const urgency = answer.urgencyClass ?? proposedUrgency(item, answer.conditionClass);
    const before = byJob.get(item.job);
    byJob.set(item.job, {
      itemIds: [...(before?.itemIds ?? []), itemId],
      urgency: Math.max(urgency, before?.urgency ?? 0),
    });
  }
  return [...byJob].map(([job, { itemIds, urgency }]) => {
    const { name, minutes, each } = jobOf(job);
    const change = draft.lines[job];
    const usual = timesFor(job, minutes, ownTimes);
    const likely = whole(change?.likely) ?? usual.likely;
    return {
      job,
      name,
      option: change?.option ?? optionFor(urgency),
      count: each ? itemIds.length : 1,
      minutes: { least: Math.min(usual.least, likely), likely, most: Math.max(usual.most, likely) },
      partsCents: whole(change?.parts, 100) ?? 0,
      itemIds,
    };
  });
}

export function estimateOf(
  draft: SheetDraft,
  workshop: Workshop,
  ownTimes: Readonly<Record<string, OwnTimes>>,
): Estimate | null {
  const lines = proposedLines(draft, ownTimes).filter(({ job }) => !isDropped(draft, job));
  if (lines.length === 0) return null;
  return { ratePerHourCents: workshop.ratePerHourCents, currency: workshop.currency, lines };
}
