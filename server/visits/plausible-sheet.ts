/** What a sheet says that cannot be meant: each with the field and a sentence. */
import type { VisitBody } from '../contract/index.ts';
import { implausibleValue, itemOf } from '../contract/index.ts';

interface Fault {
  readonly field: string;
  readonly sentence: string;
}

export function implausibleSheet(body: Pick<VisitBody, 'findings' | 'sheet'>): Fault[] {
  const { findings, sheet } = body;
  const faults: Fault[] = [];
  const say = (field: string, sentence: string) => faults.push({ field, sentence: `${field}: ${sentence}` });
  const checkValue = (field: string, itemId: string, value: number) => {
    const item = itemOf(itemId)?.item;
    if (!item) return say(field, `there is no item "${itemId}"`);
    const why = implausibleValue(item, value);
    if (why) say(field, why);
  };
  findings.forEach(({ itemId, measured, causedBy }, i) => {
    if (itemId === undefined) return;
    const item = itemOf(itemId)?.item;
    if (!item) say(`findings.${i}.itemId`, `there is no item "${itemId}"`);
    else if (measured && measured.unit === item.measure?.unit)
      checkValue(`findings.${i}.measured.value`, itemId, measured.value);
    if (causedBy !== undefined && !itemOf(causedBy))
      say(`findings.${i}.causedBy`, `there is no item "${causedBy}"`);
  });
  if (!sheet) return faults;
  sheet.measured.forEach(({ itemId, value }, i) => {
    checkValue(`sheet.measured.${i}.value`, itemId, value);
  });
  const answered = [
    ...findings.flatMap(({ itemId, conditionClass }) =>
      itemId !== undefined && conditionClass > 0 ? [itemId] : [],
    ),
    ...sheet.sound,
    ...sheet.notExamined.map(({ itemId }) => itemId),
  ];
  const twice = answered.find((one, i) => answered.indexOf(one) !== i);
  if (twice) say('sheet', `"${twice}" is answered twice; one item has one answer`);
  const ids = sheet.photos.map(({ id }) => id);
  if (new Set(ids).size !== ids.length) say('sheet.photos', 'the same photo is named twice');
  return faults;
}
