/** What every part of the sheet is given: the draft, how to change it, what is known of the instrument. */
import type { OwnTimes, VisitBrief, Workshop } from '../../server/contract/index.ts';
import type { SheetDraft } from './draft.ts';
import type { Fault } from './faults.ts';

export interface Sheet {
  readonly draft: SheetDraft;
  readonly brief: VisitBrief;
  readonly workshop: Workshop;
  readonly ownTimes: Readonly<Record<string, OwnTimes>>;
  readonly faults: readonly Fault[];
  /** @param what said at the undo button; @param field letters typed into one field are one step */
  readonly change: (what: string, change: (draft: SheetDraft) => SheetDraft, field?: string) => void;
  readonly addPhotos: (files: readonly File[], itemId: string | null) => void;
}

export const faultAt = (sheet: Sheet, field: string): string | null =>
  sheet.faults.find((fault) => fault.field === field)?.sentence ?? null;

/** A line of the sheet: what stands in it, what is wrong with that, and how it is changed, letter by letter in one step. */
export const lineOf = (
  sheet: Sheet,
  field: 'by' | 'at' | 'humidity' | 'temperature' | 'note' | 'minutes',
  what: string = field,
) => ({
  value: sheet.draft[field],
  fault: faultAt(sheet, field),
  onValue: (text: string) => sheet.change(what, (now) => ({ ...now, [field]: text }), field),
});
