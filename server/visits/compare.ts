/** An instrument's inspections side by side, item by item, over the years. */
import type { Comparison, Visit } from '../contract/index.ts';
import { againstNormal, groupsFor, itemOf, type Kind } from '../contract/index.ts';
import { itemKey } from './conditions.ts';

type Grade = Comparison['items'][number]['grades'][number];

function gradeIn(visit: Visit, item: string, kind: Kind): Grade {
  const catalogued = itemOf(item)?.item;
  const finding = visit.findings.find((one) => itemKey(one) === item);
  const value = finding?.measured?.value ?? visit.sheet?.measured.find((one) => one.itemId === item)?.value;
  const unit = finding?.measured?.unit ?? catalogued?.measure?.unit;
  const measured = value === undefined || unit === undefined ? null : { value, unit };
  const against =
    catalogued && measured && measured.unit === catalogued.measure?.unit
      ? againstNormal(catalogued, kind, measured.value)
      : null;
  if (finding) return { conditionClass: finding.conditionClass, words: finding.words, measured, against };
  if (visit.sheet?.sound.includes(item)) return { conditionClass: 0, words: '', measured, against };
  return null;
}

/** @param visits newest first, corrected ones left out. */
export function compare(
  instrument: { readonly id: string; readonly name: string; readonly kind: Kind },
  visits: readonly Visit[],
): Comparison {
  const looked = visits
    .filter((visit) => visit.findings.length > 0 || (visit.sheet?.sound.length ?? 0) > 0)
    .toReversed();
  const seen = new Set(
    looked.flatMap((visit) => [...visit.findings.map(itemKey), ...(visit.sheet?.sound ?? [])]),
  );
  const inOrder = groupsFor(instrument.kind).flatMap((group) => group.items.map((item) => item.id));
  const items = [
    ...inOrder.filter((id) => seen.has(id)),
    ...[...seen].filter((id) => !inOrder.includes(id)).toSorted(),
  ];
  return {
    instrumentId: instrument.id,
    name: instrument.name,
    visits: looked.map(({ id, atMs }) => ({ id, atMs })),
    items: items.map((id) => {
      const known = itemOf(id);
      const [assembly = '', part = id] = id.split(': ');
      return {
        itemId: id,
        name: known?.item.name ?? part,
        assembly: known?.group.assembly ?? assembly,
        grades: looked.map((visit) => gradeIn(visit, id, instrument.kind)),
      };
    }),
  };
}
