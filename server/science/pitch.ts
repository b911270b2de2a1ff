/**
 * Pitch: cents, the registers of a piano, what a technician measured as offsets from the instrument's own standard,
 * and how much is borne for which use.
 */
import { within } from './range.ts';

/** bass: wound strings; tenor: lowest plain strings up to about F3; middle: to C5; treble: to C6; top: the rest. */
export type Register = 'bass' | 'tenor' | 'middle' | 'treble' | 'top';
export const REGISTERS: readonly Register[] = ['bass', 'tenor', 'middle', 'treble', 'top'];

export type Use = 'concert' | 'studio' | 'practice' | 'worship' | 'home';

/** A4 where no other standard is agreed, Hz. @source ISO-16 */
export const STANDARD_A4_HZ = 440;

/** Key of the note at which each register is sampled: A1, C3, A4, A5, A6. Common practice, no source. */
const SAMPLE: Readonly<Record<Register, { readonly note: string; readonly key: number }>> = {
  bass: { note: 'A1', key: 13 },
  tenor: { note: 'C3', key: 28 },
  middle: { note: 'A4', key: 49 },
  treble: { note: 'A5', key: 61 },
  top: { note: 'A6', key: 73 },
};

/** The interval from a reference to a frequency, cents; positive is sharp. */
export function centsBetween(hz: number, referenceHz: number): number;
export function centsBetween(hz: number | null, referenceHz: number): number | null;
export function centsBetween(hz: number | null, referenceHz: number): number | null {
  if (hz === null) return null;
  within('hz', hz, 1, 20_000);
  within('referenceHz', referenceHz, 1, 20_000);
  return 1200 * Math.log2(hz / referenceHz);
}

/** The frequency some cents from a reference, Hz. */
export function hzAt(cents: number, referenceHz: number): number {
  within('referenceHz', referenceHz, 1, 20_000);
  return referenceHz * 2 ** (cents / 1200);
}

/** Frequency of a key (1 = A0, 49 = A4, 88 = C8) in equal temperament, without stretch, Hz. @source ISO-16 */
export function keyHz(key: number, a4Hz: number = STANDARD_A4_HZ): number {
  within('key', key, 1, 88);
  within('a4Hz', a4Hz, 380, 500);
  return a4Hz * 2 ** ((key - 49) / 12);
}

/** The note at which a register is sampled and its frequency in equal temperament. */
export function sampleNote(
  register: Register,
  a4Hz: number = STANDARD_A4_HZ,
): { note: string; key: number; hz: number } {
  const { note, key } = SAMPLE[register];
  return { note, key, hz: keyHz(key, a4Hz) };
}

/**
 * The register of a key.
 * @param key 1 (A0) to 88 (C8)
 * @param lowestPlainKey the first key above the bass break whose strings are plain; 27 (B2) is usual on grands
 */
export function registerOfKey(key: number, lowestPlainKey = 27): Register {
  within('key', key, 1, 88);
  within('lowestPlainKey', lowestPlainKey, 15, 45);
  if (key < lowestPlainKey) return 'bass';
  // The lowest plain notes (5 to 8) move most; on short scales with a high break they reach beyond F3.
  if (key < Math.max(34, lowestPlainKey + 7)) return 'tenor';
  if (key <= 52) return 'middle';
  return key <= 64 ? 'treble' : 'top';
}

/** What was measured: cents from the instrument's own standard, or the frequency of the register's sample note. */
export interface PitchReading {
  readonly unit: 'cents' | 'Hz';
  readonly value: number;
}

export interface PitchReadings extends Readonly<Record<Register, PitchReading | null>> {
  readonly standardHz: number;
  readonly a4: PitchReading | null;
}

function offsetOf(reading: PitchReading | null, register: Register, standardHz: number): number | null {
  if (reading === null) return null;
  if (reading.unit === 'Hz') return centsBetween(reading.value, sampleNote(register, standardHz).hz);
  return within(`${register} in cents`, reading.value, -1200, 1200);
}

/**
 * Offsets of the registers from the instrument's own standard, cents. A4 alone gives the middle, whose sample note it
 * is; what was not measured stays null.
 */
export function registerOffsets(readings: PitchReadings): Record<Register, number | null> {
  const { standardHz } = readings;
  within('standardHz', standardHz, 380, 500);
  return {
    bass: offsetOf(readings.bass, 'bass', standardHz),
    tenor: offsetOf(readings.tenor, 'tenor', standardHz),
    middle: offsetOf(readings.middle ?? readings.a4, 'middle', standardHz),
    treble: offsetOf(readings.treble, 'treble', standardHz),
    top: offsetOf(readings.top, 'top', standardHz),
  };
}

export interface Tolerance {
  /** Median absolute offset from which a tuning is asked for, cents. */
  readonly levelCents: number;
  /** Step between neighbouring registers at a break, cents. */
  readonly stepCents: number;
  /** 90th percentile of the string-to-string spread of unisons, cents. */
  readonly unisonCents: number;
}

/**
 * What is borne for each use. Common practice, no source, but for unisons: listeners prefer 1 to 2 cents at the
 * most. @source Kirk-1959 Where the practice names a range, its middle; in concert the upper end for unisons.
 */
const TOLERANCE: Readonly<Record<Use, Tolerance>> = {
  concert: { levelCents: 1, stepCents: 2, unisonCents: 1 },
  studio: { levelCents: 3, stepCents: 5, unisonCents: 1.5 },
  practice: { levelCents: 6, stepCents: 10, unisonCents: 3 },
  worship: { levelCents: 4, stepCents: 6, unisonCents: 2 },
  home: { levelCents: 6.5, stepCents: 10, unisonCents: 2.5 },
};

export function toleranceFor(use: Use): Tolerance {
  return TOLERANCE[use];
}

/**
 * Spread of one unison: highest less lowest string, cents. Null where fewer than two strings were measured: "not
 * measured" is never zero.
 */
export function unisonSpreadCents(strings: readonly (number | null)[]): number | null {
  const measured = strings.filter((cents): cents is number => cents !== null);
  return measured.length < 2 ? null : Math.max(...measured) - Math.min(...measured);
}
