/** Which register to speak of first, and how an offset is said beside it. */
import type { Register, RegisterPitch, Tolerance, Visit } from '../../server/contract/index.ts';
import { widestCents } from './unison-words.ts';

/** The register most likely beyond tolerance; among equals the one farthest off. The middle while nothing is known. */
export function farthestOut(registers: readonly RegisterPitch[]): Register {
  const known = registers.filter(({ offsetCents }) => offsetCents !== null);
  const [first] = known.toSorted(
    (a, b) =>
      (b.beyondTolerance ?? 0) - (a.beyondTolerance ?? 0) ||
      Math.abs(b.offsetCents ?? 0) - Math.abs(a.offsetCents ?? 0),
  );
  return first?.register ?? 'middle';
}

/** Chance in words that claim no more than it knows. */
export function chanceWords(beyond: number | null): string {
  if (beyond === null) return 'needs a tuning to start from';
  if (beyond >= 0.95) return 'surely out';
  if (beyond >= 0.8) return 'very likely out';
  if (beyond >= 0.6) return 'likely out';
  if (beyond > 0.4) return 'as likely out as in';
  if (beyond > 0.2) return 'likely within';
  if (beyond > 0.05) return 'very likely within';
  return 'surely within';
}

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
