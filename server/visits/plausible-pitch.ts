/** A reading in Hz far from its note was read from another note or mistyped: it is asked about, not kept. */
import type { PitchTaken, Register, VisitBody } from '../contract/index.ts';
import { centsBetween, sampleNote } from '../science/index.ts';

const farCents = 400;

/** @returns the fields that cannot be meant, each with a sentence. */
export function implausiblePitch(
  body: Pick<VisitBody, 'asFound' | 'asLeft'>,
  standardHz: number,
): { field: string; sentence: string }[] {
  return (['asFound', 'asLeft'] as const).flatMap((when) => {
    const taken = body[when];
    if (!taken) return [];
    return (Object.keys(taken) as (keyof PitchTaken)[]).flatMap((note) => {
      const reading = taken[note];
      if (reading?.unit !== 'Hz') return [];
      const register: Register = note === 'a4' ? 'middle' : note;
      const expected = sampleNote(register, standardHz);
      if (Math.abs(centsBetween(reading.value, expected.hz)) <= farCents) return [];
      const field = `${when}.${note}`;
      const sentence = `${field}: ${reading.value} Hz is far from the ${expected.hz.toFixed(1)} Hz of ${expected.note}; was another note or cents meant?`;
      return [{ field, sentence }];
    });
  });
}
