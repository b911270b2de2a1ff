/** Answers to items: graded, graded anew, a whole assembly at once. Pure: a draft in, a draft out. */
import type { Class0to3, Group } from '../../server/contract/index.ts';
import { itemOf } from '../../server/contract/index.ts';
import type { Answer, SheetDraft } from './draft.ts';

/** Looked at, and without symptoms. */
export const blankAnswer = (itemId: string): Answer => ({
  conditionClass: 0,
  why: '',
  quick: [],
  words: '',
  value: '',
  unit: itemOf(itemId)?.item.measure?.unit ?? '',
  lowNote: '',
  highNote: '',
  urgencyClass: null,
  recommendationClass: null,
  causedBy: null,
  earlier: [],
});

export function changeAnswer(draft: SheetDraft, itemId: string, change: Partial<Answer>): SheetDraft {
  const before = draft.answers[itemId] ?? blankAnswer(itemId);
  return { ...draft, answers: { ...draft.answers, [itemId]: { ...before, ...change } } };
}

/**
 * A grade, or null for "not examined". Once the last look has begun, the grade before stays beside the new one, to be
 * told with why; before that a second tap only puts the first right.
 */
export function grade(
  draft: SheetDraft,
  itemId: string,
  conditionClass: Class0to3 | null,
  nowMs: number,
): SheetDraft {
  const before = draft.answers[itemId];
  const was = before?.conditionClass;
  const kept =
    before && draft.lastLook && was !== undefined && was !== null && was !== conditionClass
      ? [...before.earlier, { conditionClass: was, atMs: nowMs, why: '' }]
      : (before?.earlier ?? []);
  return changeAnswer(draft, itemId, {
    conditionClass,
    earlier: kept,
    urgencyClass: null,
    recommendationClass: null,
  });
}

/** One tap: what of this assembly has no answer yet is without symptoms; findings stay. */
export function restIsSound(draft: SheetDraft, group: Group): SheetDraft {
  const added = group.items
    .filter(({ id }) => draft.answers[id] === undefined)
    .map(({ id }) => [id, blankAnswer(id)] as const);
  return { ...draft, answers: { ...draft.answers, ...Object.fromEntries(added) } };
}

export const isDone = (draft: SheetDraft, group: Group): boolean =>
  group.items.every(({ id }) => draft.answers[id] !== undefined);

export const findingsIn = (draft: SheetDraft, group: Group): number =>
  group.items.filter(({ id }) => (draft.answers[id]?.conditionClass ?? 0) > 0).length;

export function toggleQuick(draft: SheetDraft, itemId: string, word: string): SheetDraft {
  const quick = draft.answers[itemId]?.quick ?? [];
  const next = quick.includes(word) ? quick.filter((one) => one !== word) : [...quick, word];
  return changeAnswer(draft, itemId, { quick: next });
}
