/** What the readings as found and the findings so far say of the way to pitch. */
import {
  type CorrectionPlan,
  planCorrection,
  type Register,
  registers,
  type StringFinding,
} from '../../server/contract/index.ts';
import { typed } from '../words/numbers.ts';
import { pitchShown, type SheetDraft } from './draft.ts';
import { inUnit, standardNoteHz } from './pitch-arithmetic.ts';

/** Farther off than this another note was read; its field says so. */
const mostCents = 400;

function offsetCents(draft: SheetDraft, register: Register, standardHz: number): number | null {
  const { text, unit } = draft.found[register];
  const value = typed(text);
  if (value === null || Number.isNaN(value) || !pitchShown(draft).includes(register)) return null;
  const cents = inUnit({ unit, value }, 'cents', standardNoteHz(register, standardHz));
  return Math.abs(cents) <= mostCents ? cents : null;
}

function stringFindings({ answers }: SheetDraft): StringFinding[] {
  const grade = (itemId: string) => answers[itemId]?.conditionClass ?? 0;
  const said = (itemId: string, word: string) => answers[itemId]?.quick.includes(word) ?? false;
  const found: Readonly<Partial<Record<StringFinding, boolean>>> = {
    rust: grade('strings.rust') >= 2,
    splices: said('strings.missing', 'spliced'),
    'strings have broken': said('strings.missing', 'broken'),
    'loose pins': grade('pins.torque') >= 2,
    'plate crack': grade('plate.cracks') > 0,
  };
  return (Object.keys(found) as StringFinding[]).filter((one) => found[one]);
}

export function correctionOf(draft: SheetDraft, standardHz: number): CorrectionPlan {
  const offsets = Object.fromEntries(
    registers.map((register) => [register, offsetCents(draft, register, standardHz)]),
  ) as Record<Register, number | null>;
  return planCorrection(offsets, stringFindings(draft));
}
