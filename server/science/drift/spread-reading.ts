import type { Register } from './registers.ts';
import { type SpreadReading, type SpreadWord, spreadWords } from './spread.ts';

/**
 * One reading of an instrument from readings register by register: the widest, since that is what is heard first. Measured cents
 * come before words, unless a word says that another register is wider than anything measured; of words alone the worst counts.
 * How many unisons were sampled adds up.
 *
 * @returns null where nothing was measured: never zero
 */
export function overallSpread(
  byRegister: Readonly<Partial<Record<Register, SpreadReading>>>,
): SpreadReading | null {
  const readings = Object.values(byRegister);
  const words = readings.filter((reading) => 'word' in reading);
  const worst =
    words.length === 0
      ? null
      : words.reduce((widest, one) => (atLeastCents(one) > atLeastCents(widest) ? one : widest));
  const measured = readings.filter((reading) => 'cents' in reading);
  if (measured.length === 0) return worst;
  const cents = Math.max(...measured.map((one) => one.cents));
  if (worst !== null && atLeastCents(worst) > cents) return worst;
  return { cents, sampled: measured.reduce((sum, { sampled }) => sum + sampled, 0) };
}

/** What a word stands for where one number is needed, cents (proposal). */
const wordCents: Readonly<Record<SpreadWord, number>> = { clean: 1, 'slow beat': 2.5, sour: 4 };

export const readingCents = (reading: SpreadReading): number =>
  'cents' in reading ? reading.cents : wordCents[reading.word];

const atLeastCents = ({ word }: { readonly word: SpreadWord }): number => spreadWords[word][0];
