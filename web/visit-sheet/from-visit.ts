/** From an envelope back to a draft: to correct a visit that was sent, or to put right one that was refused. */
import {
  type Finding,
  itemIds,
  itemOf,
  type Kind,
  type PitchTaken,
  proposedRecommendation,
  proposedUrgency,
  type Register,
  registers,
  type VisitBody,
  type VisitBrief,
} from '../../server/contract/index.ts';
import { toInput } from '../words/zoned.ts';
import { blankAnswer } from './answers.ts';
import {
  type Answer,
  freshDraft,
  type LineChange,
  type PitchEntries,
  pitchEntries,
  type SheetDraft,
} from './draft.ts';
import { proposedLines } from './estimate.ts';
import { noteName } from './notes.ts';
import { entriesOf } from './unison-entries.ts';

const text = (value: number | null | undefined): string =>
  value === null || value === undefined ? '' : String(value);

function typedEntries(taken: PitchTaken | null): PitchEntries {
  return pitchEntries((register) => {
    const reading = taken?.[register] ?? (register === 'middle' ? taken?.a4 : null) ?? null;
    return reading ? { text: String(reading.value), unit: reading.unit } : null;
  });
}

/** Findings of the first form name no item; those of the board are known by their part. */
function itemIdOf({ itemId, part }: Finding): string | null {
  if (itemId !== undefined) return itemOf(itemId) ? itemId : null;
  return itemIds.find((id) => itemOf(id)?.item.board?.part === part) ?? null;
}

function answerOf(itemId: string, finding: Finding): Answer {
  const item = itemOf(itemId)?.item;
  const { conditionClass, measured, notes, urgencyClass, recommendationClass } = finding;
  const usual = item && {
    urgency: proposedUrgency(item, conditionClass),
    to: proposedRecommendation(conditionClass),
  };
  const same = measured !== null && item?.measure?.unit === measured.unit && item.sampled !== true;
  return {
    ...blankAnswer(itemId),
    conditionClass,
    words: finding.words,
    value: same ? text(measured.value) : '',
    lowNote: notes ? noteName(notes.low) : '',
    highNote: notes ? noteName(notes.high) : '',
    urgencyClass: usual?.urgency === urgencyClass ? null : urgencyClass,
    recommendationClass: usual?.to === recommendationClass ? null : recommendationClass,
    causedBy: finding.causedBy ?? null,
    earlier: finding.earlier ?? [],
  };
}

function answersOf({ findings, sheet }: VisitBody): { answers: Record<string, Answer>; carried: Finding[] } {
  const answers: Record<string, Answer> = {};
  for (const id of sheet?.sound ?? []) if (itemOf(id)) answers[id] = blankAnswer(id);
  for (const { itemId, why } of sheet?.notExamined ?? [])
    if (itemOf(itemId)) answers[itemId] = { ...blankAnswer(itemId), conditionClass: null, why };
  for (const { itemId, value } of sheet?.measured ?? []) {
    const answer = answers[itemId];
    if (answer) answers[itemId] = { ...answer, value: text(value) };
  }
  const carried: Finding[] = [];
  for (const finding of findings) {
    const id = itemIdOf(finding);
    if (id === null) carried.push(finding);
    else if (answers[id] === undefined || finding.conditionClass > 0) answers[id] = answerOf(id, finding);
  }
  return { answers, carried };
}

/** What was proposed then is proposed again, and nothing that was not. */
function linesOf(draft: SheetDraft, { sheet }: VisitBody): Record<string, LineChange> {
  const then = sheet?.estimate?.lines ?? [];
  const known = new Map<string, (typeof then)[number]>(then.map((line) => [line.job, line]));
  return Object.fromEntries(
    proposedLines(draft, {}).map(({ job }) => {
      const line = known.get(job);
      if (!line) return [job, { dropped: true }];
      const parts = line.partsCents === 0 ? {} : { parts: text(line.partsCents / 100) };
      return [job, { option: line.option, likely: text(line.minutes.likely), ...parts, dropped: false }];
    }),
  );
}

/** @param corrects the visit that this one takes the place of */
export function draftOfVisit(visit: VisitBody, brief: VisitBrief, corrects: string | null): SheetDraft {
  const { asFound, asLeft, conditions, sheet } = visit;
  const readings = [asFound, asLeft].flatMap((taken) => (taken ? Object.values(taken) : []));
  const first = readings.find((reading) => reading !== null);
  const byRegister = [asFound, asLeft].some(
    (taken) => taken && registers.some((one: Register) => taken[one]),
  );
  const kind: Kind = sheet?.kind ?? brief.kind;
  const draft: SheetDraft = {
    ...freshDraft(brief, visit.by ?? '', sheet?.beganMs ?? visit.atMs, true),
    kind,
    at: toInput(visit.atMs, brief.timeZone),
    humidity: text(conditions.humidityPct),
    temperature: text(conditions.temperatureC),
    temperatureUnit: 'C',
    ...answersOf(visit),
    pins: (sheet?.pins ?? []).map((pin) => ({ ...pin, torque: text(pin.torqueNm), unit: 'N·m' })),
    scope: byRegister || !first ? 'registers' : 'A4',
    pitchUnit: first?.unit ?? 'cents',
    found: typedEntries(asFound),
    left: typedEntries(asLeft),
    unisonsFound: text(visit.unisonsFoundCents),
    unisonsLeft: text(visit.unisonsLeftCents),
    unisonsBy: { found: entriesOf(visit.unisonsFound), left: entriesOf(visit.unisonsLeft) },
    stringWork: visit.stringWork,
    minutes: text(visit.minutes),
    note: visit.note,
    takenOff: (sheet?.takenOff ?? []).map(({ words }) => words).join('; '),
    workDone: (sheet?.workDone ?? []).map(({ job, minutes }) => ({ job, minutes: text(minutes) })),
    control: Object.fromEntries(
      (sheet?.control ?? []).map(({ part, state, action }) => [part, { state, action }]),
    ),
    photos: sheet?.photos ?? [],
    remarks: Object.fromEntries(
      (sheet?.remarksAnswered ?? []).map(({ remarkId, answer }) => [remarkId, answer]),
    ),
    signature: sheet?.signature ?? { by: visit.by ?? '', strokes: [] },
    corrects,
  };
  return {
    ...draft,
    inspects: Object.keys(draft.answers).length + draft.carried.length + draft.pins.length > 0,
    lines: linesOf(draft, visit),
  };
}
