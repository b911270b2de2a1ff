/**
 * How fast moisture moves in the woods of the parts.
 * Sources: A. Sánchez-Ferrer and M. Engelhardt, Scientific Reports 2026 (spruce, tangential 1.00e-10 m²/s, radial 0.94e-10, ±10 %
 * between methods; read); W. Sonderegger et al., Holzforschung 65 (2011) 819 (spruce 2 to 3 times as fast as beech; read);
 * surface emission 1e-7 to 1e-6 m/s (Avramidis and Siau; from memory); a pinblock's 2e-11 to 10e-11 (from memory).
 */
import { describe, expect, test } from 'vitest';
import {
  actionPart,
  bridgeBodyPart,
  bridgeCapPart,
  casePart,
  keyPart,
  pinblockPart,
  soundboardPart,
} from '../../server/science/index.ts';

const board = soundboardPart({ thicknessMm: 8, finish: 'bare', species: 'spruce-sitka' });

describe('diffusivity', () => {
  test.each([board, keyPart()])('$name: spruce within 10 %% of 1.00e-10', ({ diffusivityM2s }) => {
    expect(Math.abs(diffusivityM2s / 1e-10 - 1)).toBeLessThanOrEqual(0.1);
  });
  test.each([bridgeCapPart(), bridgeBodyPart(), actionPart(), casePart()])(
    '$name: hardwood a half to a third of spruce',
    ({ diffusivityM2s }) => {
      const ratio = board.diffusivityM2s / diffusivityM2s;
      expect(ratio).toBeGreaterThanOrEqual(2);
      expect(ratio).toBeLessThanOrEqual(3);
    },
  );
  test('pinblock: within its range, and slower than solid hardwood', () => {
    expect(pinblockPart().diffusivityM2s).toBeGreaterThanOrEqual(2e-11);
    expect(pinblockPart().diffusivityM2s).toBeLessThan(bridgeBodyPart().diffusivityM2s);
  });
  test.each([board, keyPart(), pinblockPart(), bridgeCapPart(), actionPart(), casePart()])(
    '$name: emission of a face in the air is in the published range, at its still end',
    ({ top }) => {
      expect(top.emissionMps).toBeGreaterThanOrEqual(1e-7);
      expect(top.emissionMps).toBeLessThanOrEqual(2e-7);
    },
  );
});
