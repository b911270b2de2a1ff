/** Which register to speak of first, and how an offset is said beside it. */
import type { Register, RegisterPitch, Tolerance, Visit } from '../../server/contract/index.ts';
import { nbsp, plain } from '../words/numbers.ts';
import { widestCents } from './unison-words.ts';

/** The register farthest off, as the notices name it. The middle while nothing is known. */
export function farthestOff(registers: readonly RegisterPitch[]): Register {
  const known = registers.filter(({ offsetCents }) => offsetCents !== null);
  const [first] = known.toSorted((a, b) => Math.abs(b.offsetCents ?? 0) - Math.abs(a.offsetCents ?? 0));
  return first?.register ?? 'middle';
}

/** The chance that the whole is out of tolerance, in words that claim no more than it knows. One register alone decides nothing. */
export function chanceWords(beyond: number): string {
  if (beyond >= 0.95) return 'surely out';
  if (beyond >= 0.8) return 'very likely out';
  if (beyond >= 0.6) return 'likely out';
  if (beyond > 0.4) return 'as likely out as in';
  if (beyond > 0.2) return 'likely within';
  if (beyond > 0.05) return 'very likely within';
  return 'surely within';
}

const limit = (value: number): string => plain(value, Number.isInteger(value) ? 0 : 1);

/** "±6 cents, 10 at a break": the two parts of tolerance by which the pitch is judged. */
export const toleranceWords = ({ levelCents, stepCents }: Tolerance): string =>
  `±${limit(levelCents)}${nbsp}cents, ${limit(stepCents)} at a break`;

/** Unisons are measured, not predicted here: as they were last left. */
export function unisonsLeft(
  visits: readonly Visit[],
  tolerance: Tolerance,
): { cents: number; atMs: number; beyond: boolean } | null {
  const latest = visits
    .toSorted((a, b) => b.atMs - a.atMs)
    .find((visit) => widestCents(visit, 'left') !== null);
  const cents = latest ? widestCents(latest, 'left') : null;
  return latest && cents !== null
    ? { cents, atMs: latest.atMs, beyond: cents > tolerance.unisonCents }
    : null;
}
