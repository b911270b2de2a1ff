import type { Register } from './registers.ts';
import { type SpreadReading, spreadWords } from './spread.ts';

/**
 * One reading of an instrument from readings register by register: the widest, since that is what is heard first. Measured cents
 * come before words; where only words were given, the worst of them. How many unisons were sampled adds up.
 *
 * @returns null where nothing was measured: never zero
 */
export function overallSpread(
  byRegister: Readonly<Partial<Record<Register, SpreadReading>>>,
): SpreadReading | null {
  const readings = Object.values(byRegister);
  const measured = readings.filter((reading) => 'cents' in reading);
  if (measured.length > 0) {
    return {
      cents: Math.max(...measured.map(({ cents }) => cents)),
      sampled: measured.reduce((sum, { sampled }) => sum + sampled, 0),
    };
  }
  const words = readings.filter((reading) => 'word' in reading);
  if (words.length === 0) return null;
  return words.reduce((worst, one) => (spreadWords[one.word][0] > spreadWords[worst.word][0] ? one : worst));
}
