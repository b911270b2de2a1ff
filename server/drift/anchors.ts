/**
 * Times at which the pitch of an instrument is known: how a tuning left it or, where nobody tuned, how it was found. Who only
 * heard the A4 in passing knows more than before, not less: the registers not heard go on from where they were known.
 */
import type { PitchTaken, Register, Visit } from '../contract/index.ts';
import { registers } from '../contract/index.ts';
import { type Correction, leftToSettle, raiseOf } from '../science/drift/observations-of.ts';
import { registerOffsets } from '../science/index.ts';
import { pitchVisit } from './intervals.ts';

/** What is known of a register, and when it was heard. */
export interface KnownPitch {
  /** Offset from the instrument's own standard. */
  readonly cents: number;
  readonly sdCents: number;
  readonly atMs: number;
  /** As a tuning left it; else as it was found. */
  readonly tuned: boolean;
  /** What had still to settle of the last correction (cents, up positive). */
  readonly raiseCents: number;
  /** When strings were last replaced, at the latest then; they creep. null: old ones. */
  readonly strungMs: number | null;
}

export interface Anchor {
  readonly atMs: number;
  readonly tuned: boolean;
  /** null where nothing is known of that register. */
  readonly registers: Readonly<Record<Register, KnownPitch | null>>;
}

/** The earliest of the times at which its registers were heard: so far back its history must reach. */
export const heardFromMs = ({ atMs, registers }: Anchor): number =>
  Math.min(atMs, ...Object.values(registers).flatMap((one) => (one ? [one.atMs] : [])));

/** What a careful reading of one note says of its register, cents (proposal: tuners match to a few tenths). */
const measuredSdCents = 0.7;
/** A whole tuning with only A4 noted: the other registers follow it, less surely (proposal). */
const followingSdCents = 1.2;

type Heard = Omit<KnownPitch, 'cents' | 'sdCents'>;

/** As a tuning left it. */
function asLeft(taken: PitchTaken, standardHz: number, heard: Heard): Anchor['registers'] {
  const offsets = registerOffsets({ standardHz, ...taken });
  const { middle } = offsets;
  const entries = registers.map((register) => {
    const cents = offsets[register];
    if (cents !== null) return [register, { cents, sdCents: measuredSdCents, ...heard }];
    if (middle !== null) return [register, { cents: middle, sdCents: followingSdCents, ...heard }];
    return [register, null];
  });
  return Object.fromEntries(entries);
}

/** As it was found by whoever did not tune it. */
function asFound(
  taken: PitchTaken,
  standardHz: number,
  heard: Heard,
  before: Anchor['registers'],
): Anchor['registers'] {
  const offsets = registerOffsets({ standardHz, ...taken });
  const entries = registers.map((register) => {
    const cents = offsets[register];
    return [register, cents === null ? before[register] : { cents, sdCents: measuredSdCents, ...heard }];
  });
  return Object.fromEntries(entries);
}

const nothing: Anchor['registers'] = { bass: null, tenor: null, middle: null, treble: null, top: null };

const says = (taken: PitchTaken | null): taken is PitchTaken =>
  taken !== null && Object.values(taken).some((reading) => reading !== null);

/** @returns anchors in ascending time. */
export function anchorsOf(visits: readonly Visit[], standardHz: number): Anchor[] {
  const anchors: Anchor[] = [];
  let strungMs: number | null = null;
  let correction: Correction | null = null;
  for (const visit of visits.toSorted((a, b) => a.atMs - b.atMs)) {
    const { atMs } = visit;
    if (visit.stringWork) strungMs = atMs;
    const tuned = says(visit.asLeft);
    if (tuned) correction = { atMs, cents: raiseOf(pitchVisit(visit, standardHz)) };
    const heard = { atMs, tuned, raiseCents: leftToSettle(correction, atMs), strungMs };
    if (says(visit.asLeft)) {
      anchors.push({ atMs, tuned, registers: asLeft(visit.asLeft, standardHz, heard) });
    } else if (says(visit.asFound)) {
      const before = anchors.at(-1)?.registers ?? nothing;
      anchors.push({ atMs, tuned, registers: asFound(visit.asFound, standardHz, heard, before) });
    }
  }
  return anchors;
}
