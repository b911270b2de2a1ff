/**
 * Pitch.
 * Sources: ISO 16:1975, A4 = 440 Hz (from memory); equal temperament with A4 as key 49 (read); cents by definition. Values
 * computed. Register limits: common practice, no source.
 */
import { describe, expect, test } from 'vitest';
import {
  centsBetween,
  hzAt,
  keyHz,
  type PitchReadings,
  REGISTERS,
  registerOffsets,
  registerOfKey,
  STANDARD_A4_HZ,
  sampleNote,
  unisonSpreadCents,
} from '../../server/science/index.ts';

const nothing: PitchReadings = {
  standardHz: 440,
  a4: null,
  bass: null,
  tenor: null,
  middle: null,
  treble: null,
  top: null,
};

describe('equal temperament and cents', () => {
  test.each([
    ['A0', 1, 27.5],
    ['C4', 40, 261.6256],
    ['A4', 49, 440],
    ['C8', 88, 4186.009],
  ])('%s', (_, key, hz) => expect(keyHz(key)).toBeCloseTo(hz, 4));

  test.each([
    [441, 440, 3.9302],
    [442, 440, 7.8514],
    [443, 440, 11.7638],
    [440, 435, 19.7857],
    [440, 432, 31.7667],
    [444.4, 440, 17.2264],
  ])('%f Hz over %f Hz is %f cents', (hz, reference, cents) => {
    expect(centsBetween(hz, reference)).toBeCloseTo(cents, 4);
    expect(hzAt(centsBetween(hz, reference), reference)).toBeCloseTo(hz, 10);
  });

  test('1 cent is a ratio of 1.000577790', () => expect(hzAt(1, 1)).toBeCloseTo(1.00057779, 9));
  test('ISO 16', () => expect(STANDARD_A4_HZ).toBe(440));
});

describe('registers', () => {
  test('sample notes in octaves of A4, and C3', () => {
    expect(REGISTERS.map((register) => sampleNote(register).note)).toEqual(['A1', 'C3', 'A4', 'A5', 'A6']);
    expect(REGISTERS.map((register) => sampleNote(register).hz)).toEqual([55, keyHz(28), 440, 880, 1760]);
    expect(keyHz(28)).toBeCloseTo(130.8128, 4);
    for (const register of REGISTERS) expect(registerOfKey(sampleNote(register).key)).toBe(register);
  });

  test('by key and break: F3 (33) is the last of the tenor, C5 (52) of the middle, C6 (64) of the treble', () => {
    expect([26, 27, 33, 34, 52, 53, 64, 65].map((key) => registerOfKey(key))).toEqual([
      'bass',
      'tenor',
      'tenor',
      'middle',
      'middle',
      'treble',
      'treble',
      'top',
    ]);
    expect(registerOfKey(35, 40)).toBe('bass');
    expect(registerOfKey(45, 40)).toBe('tenor');
    expect(() => registerOfKey(0)).toThrow(RangeError);
  });

  test('A4 in Hz gives the middle where the middle was not measured itself', () => {
    const a4 = { unit: 'Hz', value: 442 } as const;
    expect(registerOffsets({ ...nothing, a4 }).middle).toBeCloseTo(7.8514, 4);
    expect(registerOffsets({ ...nothing, a4, middle: { unit: 'cents', value: 5 } }).middle).toBe(5);
    expect(registerOffsets({ ...nothing, a4 }).tenor).toBeNull();
    expect(registerOffsets({ ...nothing, standardHz: 442, a4 }).middle).toBeCloseTo(0, 10);
  });

  test('Hz of a register are read at its sample note', () => {
    const offsets = registerOffsets({
      ...nothing,
      bass: { unit: 'Hz', value: 55.5 },
      top: { unit: 'Hz', value: 1760 },
    });
    expect(offsets.bass).toBeCloseTo(1200 * Math.log2(55.5 / 55), 10);
    expect(offsets.top).toBe(0);
    expect(() => registerOffsets({ ...nothing, top: { unit: 'cents', value: 4000 } })).toThrow(
      /top in cents/,
    );
  });

  test('a unison of one measured string has no spread', () => {
    expect(unisonSpreadCents([0.2, null, -1.1])).toBeCloseTo(1.3, 12);
    expect(unisonSpreadCents([0.2, null, null])).toBeNull();
    expect(unisonSpreadCents([])).toBeNull();
  });
});
