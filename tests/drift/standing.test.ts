/**
 * Whether a pitch is out is a matter of the whole: one register alone decides nothing, and what is said beside the
 * figures is what the decision goes by. The parts of tolerance: median absolute error and the step at a break, as
 * common practice has them (no source).
 */
import { describe, expect, test } from 'vitest';
import type { Register } from '../../server/contract/index.ts';
import { type Offsets, standingOf } from '../../server/drift/standing.ts';
import { fitSpread } from '../../server/science/drift/index.ts';
import { toleranceFor } from '../../server/science/pitch.ts';
import { chanceWords, farthestOff } from '../../web/instrument/pitch-words.ts';
import { drift, instrument } from './plain-piano.ts';

const known = { fittedMs: 0, posterior: drift, spread: fitSpread([]), instrument };
const none = { moistureCents: 0, temperatureCents: 0, ageingCents: 0, settlingCents: 0 };
/** Offsets that are known to half a cent. */
const at = (cents: Readonly<Record<Register, number>>): Offsets => {
  const one = (register: Register) => ({
    meanCents: cents[register],
    sdCents: 0.5,
    normalSdCents: 0.5,
    tScaleCents: 0,
    parts: none,
  });
  return {
    bass: one('bass'),
    tenor: one('tenor'),
    middle: one('middle'),
    treble: one('treble'),
    top: one('top'),
  };
};
const practice = toleranceFor('practice');
const stands = (cents: Readonly<Record<Register, number>>) => standingOf(known, at(cents), practice);

describe('the pitch as a whole', () => {
  test('one register far out, the others in their place: the whole is within, and is said to be', () => {
    const {
      beyond,
      levelCents,
      registers: each,
    } = stands({ bass: 0, tenor: -2, middle: -1, treble: -1, top: -15 });
    expect(each.find(({ register }) => register === 'top')?.beyondTolerance).toBeGreaterThan(0.99);
    expect(levelCents).toBe(-1);
    expect(chanceWords(beyond ?? 1)).toBe('surely within');
    expect(farthestOff(each)).toBe('top');
  });

  test('a step at a break makes it out, though no register is farther off than the level may be', () => {
    const { beyond, registers: each } = stands({ bass: 5.5, tenor: -5.5, middle: 0, treble: 0, top: 0 });
    expect(each.every(({ beyondTolerance }) => (beyondTolerance ?? 1) < 0.5)).toBe(true);
    expect(chanceWords(beyond ?? 0)).toMatch(/^(surely|very likely) out$/);
  });

  test('registers out in both directions are out: it is the median of how far they are off', () => {
    const { beyond, levelCents } = stands({ bass: 8, tenor: 8, middle: -8, treble: -8, top: 0 });
    expect(levelCents).toBe(0);
    expect(chanceWords(beyond ?? 0)).toBe('surely out');
  });
});
