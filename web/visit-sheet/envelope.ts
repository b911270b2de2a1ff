/** From the draft to the envelope that is sent. */
import {
  type Finding,
  itemOf,
  type JobId,
  jobOf,
  type LookedAt,
  type PitchReading,
  type PitchTaken,
  proposedRecommendation,
  proposedUrgency,
  type VisitBody,
  type VisitSheet,
} from '../../server/contract/index.ts';
import { fromInput } from '../words/zoned.ts';
import { type Answer, type Entry, pitchShown, type SheetDraft } from './draft.ts';
import { measuredValue, read, torqueOf } from './measured.ts';
import { keyOf } from './notes.ts';
import { inUnit, standardNoteHz } from './pitch-arithmetic.ts';
import { samplesOf } from './unison-entries.ts';

function readingOf({ text, unit }: Entry): PitchReading | null {
  const value = read(text);
  return value === null ? null : { unit, value };
}

function takenOf(draft: SheetDraft, side: 'found' | 'left'): PitchTaken | null {
  const nothing: PitchTaken = { a4: null, bass: null, tenor: null, middle: null, treble: null, top: null };
  const of = draft[side];
  const taken: PitchTaken =
    draft.scope === 'A4'
      ? { ...nothing, a4: readingOf(of.middle) }
      : { ...nothing, ...Object.fromEntries(pitchShown(draft).map((one) => [one, readingOf(of[one])])) };
  return Object.values(taken).some((one) => one !== null) ? taken : null;
}

/** What was tapped and what was written, in one. */
export const wordsOf = (answer: Answer): string =>
  [...answer.quick, answer.words.trim()].filter((one) => one !== '').join('; ');

function notesOf(answer: Answer): { low: number; high: number } | null {
  const low = keyOf(answer.lowNote) ?? keyOf(answer.highNote);
  const high = keyOf(answer.highNote) ?? low;
  return low === null || high === null || Number.isNaN(low) || Number.isNaN(high) ? null : { low, high };
}

/** What is told of many pins in one figure. */
function weakestPin(draft: SheetDraft): number | null {
  const torques = draft.pins.flatMap((pin) => torqueOf(pin) ?? []);
  return torques.length === 0 ? null : Math.min(...torques);
}

function findingOf(draft: SheetDraft, itemId: string, answer: Answer): Finding | null {
  const known = itemOf(itemId);
  if (!known || answer.conditionClass === null) return null;
  const { item, group } = known;
  const { conditionClass } = answer;
  // Of what the board's limits know, also "looked at, no symptoms" is told: it ends what an earlier visit found.
  if (conditionClass === 0 && !item.board) return null;
  const isBoard = item.board && (conditionClass === 0 || conditionClass >= item.board.fromClass);
  const value = item.sampled ? weakestPin(draft) : measuredValue(itemId, answer.value, answer.unit);
  const notes = notesOf(answer);
  const photoIds = draft.photos.filter((photo) => photo.itemId === itemId).map(({ id }) => id);
  const work = conditionClass > 0 ? jobOf(item.job) : null;
  return {
    assembly: group.assembly,
    part: isBoard && item.board ? item.board.part : item.name,
    conditionClass,
    urgencyClass: answer.urgencyClass ?? proposedUrgency(item, conditionClass),
    recommendationClass: answer.recommendationClass ?? proposedRecommendation(conditionClass),
    words: wordsOf(answer),
    workProposed: work?.name ?? null,
    estimatedMinutes: work?.minutes.likely ?? null,
    measured: value === null || !item.measure ? null : { value, unit: item.measure.unit },
    itemId,
    ...(work ? { job: item.job } : {}),
    ...(notes ? { notes } : {}),
    ...(answer.causedBy ? { causedBy: answer.causedBy } : {}),
    ...(answer.earlier.length > 0 ? { earlier: [...answer.earlier] } : {}),
    ...(photoIds.length > 0 ? { photoIds } : {}),
  };
}

/** A pin that was only begun says nothing. */
function pinsOf(draft: SheetDraft): VisitSheet['pins'] {
  return draft.pins
    .map((pin) => ({ section: pin.section, torqueNm: torqueOf(pin), feel: pin.feel, holds: pin.holds }))
    .filter(({ torqueNm, feel, holds }) => torqueNm !== null || feel !== null || holds !== null);
}

export function lookedAt(draft: SheetDraft, standardHz: number): LookedAt {
  const entries = Object.entries(draft.answers);
  const classes = entries.flatMap(([id, { conditionClass }]) =>
    conditionClass === null ? [] : [[id, conditionClass] as const],
  );
  const raised = pitchShown(draft).flatMap((register) => {
    const noteHz = standardNoteHz(register, standardHz);
    const [found, left] = [readingOf(draft.found[register]), readingOf(draft.left[register])];
    return found && left ? [inUnit(left, 'cents', noteHz) - inUnit(found, 'cents', noteHz)] : [];
  });
  return {
    kind: draft.kind,
    classes: Object.fromEntries(classes),
    notExamined: entries.flatMap(([id, { conditionClass }]) => (conditionClass === null ? [id] : [])),
    measured: Object.fromEntries(
      entries.flatMap(([id, answer]) => {
        const value = measuredValue(id, answer.value, answer.unit);
        return value === null ? [] : [[id, value]];
      }),
    ),
    pins: pinsOf(draft),
    raisedCents: raised.length === 0 ? null : Math.max(...raised),
    humidityPct: read(draft.humidity),
  };
}

function temperatureC({ temperature, temperatureUnit }: SheetDraft): number | null {
  const value = read(temperature);
  return value === null || temperatureUnit === 'C' ? value : Math.round(((value - 32) / 1.8) * 100) / 100;
}

/** A tuning alone took all the time there was; else each work has its own. */
function workDoneOf(draft: SheetDraft, tuned: boolean): VisitSheet['workDone'] {
  const done = draft.workDone.map(({ job, minutes }) => ({ job: job as JobId, time: read(minutes) }));
  const whole =
    done.length === 0 && tuned && !draft.inspects
      ? [{ job: 'tuning' as const, time: read(draft.minutes) }]
      : done;
  return whole.map(({ job, time }) => ({
    job,
    words: jobOf(job).name,
    minutes: time === null ? null : Math.round(time),
  }));
}

/**
 * @param draft without faults; see `faultsOf`
 * @param nowMs when it is closed, which is its time unless another was typed
 */
export function envelopeOf(
  draft: SheetDraft,
  estimate: VisitSheet['estimate'],
  timeZone: string,
  nowMs: number,
): VisitBody {
  const entries = Object.entries(draft.answers);
  const findings = entries.flatMap(([id, answer]) => findingOf(draft, id, answer) ?? []);
  const minutes = read(draft.minutes);
  const atMs = fromInput(draft.at, timeZone) ?? nowMs;
  const asLeft = takenOf(draft, 'left');
  const [unisonsFound, unisonsLeft] = [samplesOf(draft.unisonsBy.found), samplesOf(draft.unisonsBy.left)];
  const signedBy = draft.signature.by.trim();
  const looked = lookedAt(draft, 440);
  return {
    instrumentId: draft.instrumentId,
    atMs,
    by: draft.by.trim() === '' ? null : draft.by.trim(),
    conditions: { humidityPct: read(draft.humidity), temperatureC: temperatureC(draft) },
    asFound: takenOf(draft, 'found'),
    asLeft,
    unisonsFoundCents: read(draft.unisonsFound),
    unisonsLeftCents: read(draft.unisonsLeft),
    ...(unisonsFound.length > 0 ? { unisonsFound } : {}),
    ...(unisonsLeft.length > 0 ? { unisonsLeft } : {}),
    stringWork: draft.stringWork,
    minutes: minutes === null ? null : Math.round(minutes),
    note: draft.note.trim(),
    findings: [...findings, ...draft.carried],
    corrects: draft.corrects,
    sheet: {
      kind: draft.kind,
      beganMs: Math.min(draft.beganMs, atMs),
      sound: entries.flatMap(([id, { conditionClass }]) => (conditionClass === 0 ? [id] : [])),
      notExamined: entries.flatMap(([itemId, { conditionClass, why }]) =>
        conditionClass === null ? [{ itemId, why: why.trim() }] : [],
      ),
      measured: entries.flatMap(([itemId, { conditionClass }]) => {
        const value = looked.measured[itemId];
        return conditionClass === 0 && value !== undefined ? [{ itemId, value }] : [];
      }),
      pins: pinsOf(draft),
      takenOff:
        draft.takenOff.trim() === '' ? [] : [{ place: '', words: draft.takenOff.trim().slice(0, 400) }],
      workDone: workDoneOf(draft, asLeft !== null),
      control: Object.entries(draft.control).map(([part, { state, action }]) => ({
        part: part as VisitSheet['control'][number]['part'],
        state: state as VisitSheet['control'][number]['state'],
        action: action.trim().slice(0, 400),
      })),
      photos: [...draft.photos],
      remarksAnswered: Object.entries(draft.remarks).flatMap(([remarkId, answer]) =>
        answer.trim() === '' ? [] : [{ remarkId, answer: answer.trim() }],
      ),
      estimate,
      signature:
        signedBy === '' || (draft.signature.strokes.length === 0 && !draft.signature.by)
          ? null
          : { by: signedBy, strokes: draft.signature.strokes.map((stroke) => [...stroke]) },
    },
  };
}
