/** Everything on the sheet that cannot be meant, field by field, each in a sentence. */
import { implausibleValue, itemOf, type Register } from '../../server/contract/index.ts';
import { hertz, typed } from '../words/numbers.ts';
import { fromInput } from '../words/zoned.ts';
import { type Entry, pitchShown, type SheetDraft } from './draft.ts';
import { wordsOf } from './envelope.ts';
import { proposedLines } from './estimate.ts';
import { measuredValue, torqueOf } from './measured.ts';
import { keyOf } from './notes.ts';
import { inUnit, standardNoteHz } from './pitch-arithmetic.ts';
import { unisonFault } from './unison-entries.ts';

export interface Fault {
  readonly field: string;
  readonly sentence: string;
}

interface Known {
  readonly pitchStandardHz: number;
  readonly timeZone: string;
}

const farCents = 400;

function pitchFault({ text, unit }: Entry, register: Register, standardHz: number): string | null {
  const value = typed(text);
  if (value === null) return null;
  if (Number.isNaN(value)) return `“${text.trim()}” is not a number.`;
  const noteHz = standardNoteHz(register, standardHz);
  const off = inUnit({ unit, value }, 'cents', noteHz);
  if (Math.abs(off) <= farCents) return null;
  return unit === 'Hz'
    ? `${value} Hz is far from the ${hertz(noteHz)} of this note; was another note or cents meant?`
    : `${value} cents is more than three notes away; was Hz meant?`;
}

/** As the contract allows. */
const longest = 20_000;

const lengthFault = ({ length }: string): string | null =>
  length <= longest
    ? null
    : `These are ${length} letters, and one note holds ${longest}: shorten it, or write the rest at another item.`;

/** A clock less far off than this may still be right. */
const aheadMs = 10 * 60_000;

function timeFault({ at }: SheetDraft, timeZone: string, nowMs: number): string | null {
  if (at === '') return null;
  const atMs = fromInput(at, timeZone);
  if (atMs === null)
    return 'A day and a time are needed here, or nothing: then it is when the visit is closed.';
  return atMs > nowMs + aheadMs ? 'A visit cannot be in the future.' : null;
}

/** What must be put right before it can be sent. Fields are named as on the sheet. */
export function faultsOf(draft: SheetDraft, { pitchStandardHz, timeZone }: Known, nowMs: number): Fault[] {
  const faults: Fault[] = [];
  const say = (field: string, sentence: string | null) => {
    if (sentence) faults.push({ field, sentence });
  };
  const number = (field: string, text: string, low: number, high: number, unit: string) => {
    const value = typed(text);
    if (value === null) return;
    if (Number.isNaN(value)) say(field, `“${text.trim()}” is not a number.`);
    else if (value < low || value > high)
      say(field, `${text.trim()} ${unit} cannot be; it must be ${low} to ${high}.`);
  };
  say('note', lengthFault(draft.note));
  for (const [id, answer] of Object.entries(draft.remarks)) say(`remark.${id}`, lengthFault(answer));
  say('at', timeFault(draft, timeZone, nowMs));
  number('humidity', draft.humidity, 0, 100, '%');
  const celsius = draft.temperatureUnit === 'C';
  number('temperature', draft.temperature, -40, celsius ? 85 : 185, `°${draft.temperatureUnit}`);
  number('minutes', draft.minutes, 0, 6000, 'min');
  number('unisonsFound', draft.unisonsFound, 0, 200, 'cents');
  number('unisonsLeft', draft.unisonsLeft, 0, 200, 'cents');
  for (const { job, minutes } of draft.workDone) number(`work.${job}`, minutes, 0, 6000, 'min');
  // Only what is shown can be put right.
  for (const { job } of proposedLines(draft, {})) {
    number(`likely.${job}`, draft.lines[job]?.likely ?? '', 0, 100_000, 'min');
    number(`parts.${job}`, draft.lines[job]?.parts ?? '', 0, 1_000_000, 'for parts');
  }
  for (const side of ['found', 'left'] as const) {
    const field = side === 'found' ? 'asFound' : 'asLeft';
    for (const register of pitchShown(draft)) {
      say(`${field}.${register}`, pitchFault(draft[side][register], register, pitchStandardHz));
    }
    for (const [register, entry] of Object.entries(draft.unisonsBy[side]))
      say(`unisonsBy.${side}.${register}`, unisonFault(entry));
  }
  for (const [itemId, answer] of Object.entries(draft.answers)) {
    const item = itemOf(itemId)?.item;
    if (!item) continue;
    if (Number.isNaN(typed(answer.value)))
      say(`${itemId}.value`, `“${answer.value.trim()}” is not a number.`);
    say(`${itemId}.words`, lengthFault(wordsOf(answer)));
    const value = measuredValue(itemId, answer.value, answer.unit);
    if (value !== null) say(`${itemId}.value`, implausibleValue(item, value));
    const [low, high] = [keyOf(answer.lowNote), keyOf(answer.highNote)];
    if (Number.isNaN(low)) say(`${itemId}.low`, `“${answer.lowNote}” is no note; write it like C4 or A#0.`);
    if (Number.isNaN(high))
      say(`${itemId}.high`, `“${answer.highNote}” is no note; write it like C4 or A#0.`);
    if (low !== null && high !== null && low > high)
      say(`${itemId}.high`, 'The upper note lies below the lower.');
  }
  const torque = itemOf('pins.torque')?.item;
  draft.pins.forEach((pin, i) => {
    const value = torqueOf(pin);
    if (Number.isNaN(typed(pin.torque))) say(`pins.${i}`, `“${pin.torque.trim()}” is not a number.`);
    else if (value !== null && torque) say(`pins.${i}`, implausibleValue(torque, value));
  });
  return faults;
}
