/**
 * Times at which the pitch of an instrument is known: how a tuning left it or, where nobody tuned, how it was found.
 */
import type { PitchTaken, Register, Visit } from '../contract/index.ts';
import { registers } from '../contract/index.ts';
import { raiseOf } from '../science/drift/observations-of.ts';
import { registerOffsets } from '../science/index.ts';
import { pitchVisit } from './intervals.ts';

export interface Anchor {
  readonly atMs: number;
  readonly tuned: boolean;
  /** Correction made then (cents, up positive): it goes on settling. */
  readonly raiseCents: number;
  /** When strings were last replaced, at the latest then; they creep. null: old ones. */
  readonly strungMs: number | null;
  /** Offset from the instrument's own standard; null where nothing is known of that register. */
  readonly registers: Readonly<Record<Register, { readonly cents: number; readonly sdCents: number } | null>>;
}

/** What a careful reading of one note says of its register, cents (proposal: tuners match to a few tenths). */
const measuredSdCents = 0.7;
/** A whole tuning with only A4 noted: the other registers follow it, less surely (proposal). */
const followingSdCents = 1.2;

function fromPitch(taken: PitchTaken, standardHz: number, whole: boolean): Anchor['registers'] {
  const offsets = registerOffsets({ standardHz, ...taken });
  const { middle } = offsets;
  const entries = registers.map((register) => {
    const cents = offsets[register];
    if (cents !== null) return [register, { cents, sdCents: measuredSdCents }];
    if (whole && middle !== null) return [register, { cents: middle, sdCents: followingSdCents }];
    return [register, null];
  });
  return Object.fromEntries(entries);
}

const says = (taken: PitchTaken | null): taken is PitchTaken =>
  taken !== null && Object.values(taken).some((reading) => reading !== null);

/** @returns anchors in ascending time. */
export function anchorsOf(visits: readonly Visit[], standardHz: number): Anchor[] {
  const anchors: Anchor[] = [];
  let strungMs: number | null = null;
  for (const visit of visits.toSorted((a, b) => a.atMs - b.atMs)) {
    const { atMs } = visit;
    if (visit.stringWork) strungMs = atMs;
    const raiseCents = raiseOf(pitchVisit(visit, standardHz));
    if (says(visit.asLeft)) {
      const left = fromPitch(visit.asLeft, standardHz, true);
      anchors.push({ atMs, tuned: true, raiseCents, strungMs, registers: left });
    } else if (says(visit.asFound)) {
      const found = fromPitch(visit.asFound, standardHz, false);
      anchors.push({ atMs, tuned: false, raiseCents, strungMs, registers: found });
    }
  }
  return anchors;
}
