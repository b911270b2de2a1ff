/** Visits that are being written on this device, for the pages that say so. */
import { signal } from '@preact/signals';
import type { SheetDraft } from '../visit-sheet/draft.ts';
import { shelf } from './store.ts';

export const drafts = signal<readonly SheetDraft[]>([]);

export async function readDrafts(): Promise<void> {
  drafts.value = await (await shelf()).getAll('drafts');
}

/** Where a draft is written on. */
export const addressOf = ({ instrumentId, inspects, corrects }: SheetDraft): string =>
  `/instruments/${instrumentId}/${inspects === false ? 'visit' : 'sheet'}${corrects ? `?corrects=${corrects}` : ''}`;
