/**
 * Times at which the pitch of an instrument is known: how a tuning left it or, where nobody tuned, how it was found.
 */
import type { PitchTaken, Register, Visit } from '../contract/index.ts';
import { registers } from '../contract/index.ts';
import { registerOffsets } from '../science/index.ts';

export interface Anchor {
  readonly atMs: number;
  readonly tuned: boolean;
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
  for (const visit of visits) {
    if (says(visit.asLeft)) {
      anchors.push({ atMs: visit.atMs, tuned: true, registers: fromPitch(visit.asLeft, standardHz, true) });
    } else if (says(visit.asFound)) {
      anchors.push({
        atMs: visit.atMs,
        tuned: false,
        registers: fromPitch(visit.asFound, standardHz, false),
      });
    }
  }
  return anchors.sort((a, b) => a.atMs - b.atMs);
}
