/** What a sheet opens with, from this device's own shelf: the brief, and the draft that was begun or a new one. */
import type { OwnTimes, VisitBrief, Workshop } from '../../server/contract/index.ts';
import { draftOf, shelf } from '../device/store.ts';
import { call } from '../service/call.ts';
import { freshDraft, type SheetDraft } from './draft.ts';
import { draftOfVisit } from './from-visit.ts';
import { rememberedName } from './remembered-name.ts';

/** What a sheet opens with. */
export interface Known {
  readonly brief: VisitBrief;
  readonly workshop: Workshop;
  readonly ownTimes: Readonly<Record<string, OwnTimes>>;
  readonly draft: SheetDraft;
}

export interface Wanted {
  readonly instrumentId: string;
  /** With the assemblies, or a tuning alone; a draft that has begun with them keeps them. */
  readonly inspects: boolean;
  /** The visit to be corrected. */
  readonly corrects: string | null;
}

/** @throws Unreachable where the visit to be corrected is not to be had without a signal */
export async function fromShelf({ instrumentId, inspects, corrects }: Wanted): Promise<Known | null> {
  const db = await shelf();
  const [brief, meta, kept] = [
    await db.get('briefs', instrumentId),
    await db.get('meta', 'meta'),
    await draftOf(instrumentId, corrects),
  ];
  if (!brief || !meta) return null;
  const begin = async () =>
    corrects === null
      ? freshDraft(brief, rememberedName(), Date.now(), inspects)
      : draftOfVisit(await call('visit', { params: { id: corrects } }), brief, corrects);
  const draft = kept ?? (await begin());
  return {
    brief,
    workshop: meta.workshop,
    ownTimes: meta.ownTimes,
    draft: corrects === null && inspects ? { ...draft, inspects } : draft,
  };
}
