/** Hz and cents of the notes a register is read at, in equal temperament from the instrument's own A4. */
import type { PitchReading, Register } from '../../server/contract/index.ts';

/** The contract's sample notes, and how many semitones each stands from A4. */
export const sampleNotes: Readonly<Record<Register, { readonly name: string; readonly semitones: number }>> =
  {
    bass: { name: 'A1', semitones: -36 },
    tenor: { name: 'C3', semitones: -21 },
    middle: { name: 'A4', semitones: 0 },
    treble: { name: 'A5', semitones: 12 },
    top: { name: 'A6', semitones: 24 },
  };

export type PitchUnit = PitchReading['unit'];

export function standardNoteHz(register: Register, standardHz: number): number {
  return standardHz * 2 ** (sampleNotes[register].semitones / 12);
}

/** The same reading in the other unit; NaN where there is none (a frequency of zero or below). */
export function inUnit({ unit, value }: PitchReading, wanted: PitchUnit, noteHz: number): number {
  if (unit === wanted) return value;
  return wanted === 'cents' ? 1200 * Math.log2(value / noteHz) : noteHz * 2 ** (value / 1200);
}
