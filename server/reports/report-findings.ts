/** One finding in words: what, where, how much against normal, why, how soon. */
import type { Content } from 'pdfmake/interfaces.js';
import type { Finding, VisitSheet } from '../contract/index.ts';
import { type Assembly, againstNormal, itemOf, type Kind, normalWords } from '../contract/index.ts';
import {
  conditionWords,
  notesWords,
  recommendationWords,
  upperFirst,
  urgencyWords,
  withUnit,
} from './said.ts';
import { say } from './type.ts';

const stands = { low: 'below normal', high: 'above normal', normal: 'normal' } as const;

/** "2.5 mm, above normal (at most 1 mm)". */
export function measuredWords(itemId: string | undefined, value: number, unit: string, kind: Kind): string {
  const item = itemId === undefined ? undefined : itemOf(itemId)?.item;
  if (!item?.measure || item.measure.unit !== unit) return withUnit(value, unit);
  const against = againstNormal(item, kind, value);
  const normal = normalWords(item, kind);
  return `${withUnit(value, unit)}${against && normal ? `, ${stands[against]} (${normal})` : ''}`;
}

export function findingStack(finding: Finding, kind: Kind): Content {
  const { itemId, measured, notes, causedBy, earlier } = finding;
  const name = (itemId && itemOf(itemId)?.item.name) || upperFirst(finding.part);
  const where = notes ? `, ${notesWords(notes)}` : '';
  const said = [
    ...(finding.words === '' ? [] : [finding.words]),
    ...(measured ? [measuredWords(itemId, measured.value, measured.unit, kind)] : []),
    ...(causedBy ? [`because of: ${(itemOf(causedBy)?.item.name ?? causedBy).toLowerCase()}`] : []),
  ];
  const grade = conditionWords[finding.conditionClass];
  const todo = recommendationWords[finding.recommendationClass];
  const changed = (earlier ?? []).map(
    (one) =>
      `First graded ${conditionWords[one.conditionClass]}${one.why === '' ? '' : `; changed because ${one.why}`}.`,
  );
  return {
    stack: [
      say(`${name}${where}: ${grade}${said.length > 0 ? `. ${upperFirst(said.join('; '))}` : ''}.`),
      say([`${upperFirst(todo)}, ${urgencyWords[finding.urgencyClass]}.`, ...changed].join(' '), {
        style: 'small',
      }),
    ],
    margin: [0, 0, 0, 3],
  };
}

/** What was measured where nothing was found. */
export function itemMeasured(sheet: VisitSheet | undefined, assembly: Assembly, kind: Kind): string[] {
  return (sheet?.measured ?? []).flatMap(({ itemId, value }) => {
    const known = itemOf(itemId);
    if (!known?.item.measure || known.group.assembly !== assembly) return [];
    return [`${known.item.name} ${measuredWords(itemId, value, known.item.measure.unit, kind)}`];
  });
}
