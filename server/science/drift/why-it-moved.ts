/** What moved a register over an interval, in cents and in words: moisture, temperature, ageing, settling, and what is left over. */

import type { DriftPosterior } from './posterior.ts';
import { type Change, type OffsetPrediction, predictOffset } from './predict-offset.ts';
import type { Instrument, Register } from './registers.ts';

export interface WhyItMoved {
  readonly register: Register;
  readonly foundCents: number;
  readonly moistureCents: number;
  readonly temperatureCents: number;
  readonly ageingCents: number;
  readonly settlingCents: number;
  /** Found less all of the above; they add up to what was found. */
  readonly unexplainedCents: number;
  /** The rest in units of what is usual: beyond 2 it wants looking into. */
  readonly unexplainedSds: number;
  readonly words: string;
}

/**
 * @param changeCents as found less as left
 * @returns null where nothing was learned
 */
export function whyItMoved(
  posterior: DriftPosterior,
  instrument: Instrument,
  register: Register,
  change: Omit<Change, 'leftCents'>,
  changeCents: number,
): WhyItMoved | null {
  const expected = predictOffset(posterior, instrument, register, { ...change, leftCents: 0 });
  if (expected === null) return null;
  const unexplainedCents = changeCents - expected.meanCents;
  const unexplainedSds = expected.sdCents === 0 ? 0 : unexplainedCents / expected.sdCents;
  return {
    register,
    foundCents: changeCents,
    ...expected.parts,
    unexplainedCents,
    unexplainedSds,
    words: wordsOf(register, changeCents, expected, unexplainedCents, unexplainedSds),
  };
}

/** Below this (cents) a part is not worth a word. */
const wordFrom = 0.5;

function wordsOf(
  register: Register,
  changeCents: number,
  { parts }: OffsetPrediction,
  unexplainedCents: number,
  unexplainedSds: number,
): string {
  const named: readonly (readonly [string, number])[] = [
    [parts.moistureCents > 0 ? 'as the board took up moisture' : 'as the board dried', parts.moistureCents],
    [parts.temperatureCents > 0 ? 'as it is colder' : 'as it is warmer', parts.temperatureCents],
    ['of age', parts.ageingCents],
    ['of settling', parts.settlingCents],
  ];
  const told = named
    .filter(([, cents]) => Math.abs(cents) >= wordFrom)
    .sort(([, a], [, b]) => Math.abs(b) - Math.abs(a))
    .map(([cause, cents]) => `${signed(cents)} ${cause}`);
  const rest =
    Math.abs(unexplainedCents) < wordFrom
      ? 'nothing is left over'
      : `${signed(unexplainedCents)} unexplained${Math.abs(unexplainedSds) > 2 ? ', more than is usual' : ''}`;
  const moved = Math.abs(changeCents) < wordFrom ? 'has hardly moved' : `moved ${signed(changeCents)} cents`;
  return `The ${register} ${moved}: ${[...told, rest].join('; ')}.`;
}

/** What temperature alone has done, said as something that will pass: null where it is not worth a word. */
export function whatComesBack(parts: OffsetPrediction['parts']): string | null {
  const { temperatureCents } = parts;
  if (Math.abs(temperatureCents) < 1) return null;
  const side = temperatureCents > 0 ? 'sharp' : 'flat';
  const air = temperatureCents > 0 ? 'colder' : 'warmer';
  return `${side} by ${Math.abs(temperatureCents).toFixed(0)} because it is ${air} than when it was tuned; it comes back with the temperature`;
}

function signed(cents: number): string {
  return `${cents < 0 ? '−' : '+'}${Math.abs(cents).toFixed(1)}`;
}
