/**
 * How hard a soundboard is pressed or pulled by the season.
 *
 * Ribs and rim hold a solid board across its grain: what it would swell or shrink, it bears as strain. Strain is
 * counted from a slow mean of the board's own past (about 18 months), which stands for relaxation: wood long held at a
 * moisture lets go of its stress and comes to rest there.
 *
 * The number is an indicator for comparing weeks and instruments. It is not a stress, says nothing of old damage, and
 * does not foretell a crack: grain, ribs, glue and history of a board are not in it.
 */
import { within } from './range.ts';
import { FIBRE_SATURATION_PCT, movementPerPct, type Spruce } from './wood.ts';

/** Time constant of the slow mean, hours: 18 months. A proposal; relaxation across the grain has no single time. */
const RELAXATION_HOURS = 18 * 30.4375 * 24;

/** Strain at which wood, paints and glues yield in tension. @source Mecklenburg-1998 */
export const YIELD_STRAIN = 0.004;
/** Lower end of the elastic limit of wood pressed across the grain, 0.5 to 1 %. @source Hoadley-1998 */
export const CRUSH_STRAIN = 0.005;

/**
 * Moisture of spruce in steady air at 45 %RH and 20 °C, %. The trade asks for such air, so a board that comes up to
 * it from a dry past is not called wet.
 */
const ASKED_FOR_PCT = 8.5;
/** From there the guard lets go within a few points: each % of moisture above lets this much swelling count. */
const RELEASE = 3;

export type Construction = 'solid' | 'laminated';
export type BoardFinding = 'open crack' | 'separated rib' | 'no crown' | 'loose pins';
export type StrainClass = 0 | 1 | 2 | 3;

/**
 * What a finding leaves of the allowed strain, drying and wetting. A proposal: the checklist of the trade weighs a
 * separated rib above a crack or lost crown; pins loosen by drying only.
 */
const LEAVES: Readonly<Record<BoardFinding, { readonly dry: number; readonly wet: number }>> = {
  'open crack': { dry: 0.8, wet: 0.9 },
  'separated rib': { dry: 0.7, wet: 0.7 },
  'no crown': { dry: 0.8, wet: 0.8 },
  'loose pins': { dry: 0.9, wet: 1 },
};

/**
 * The slow mean after some hours at a moisture.
 * @param hours at least 0
 */
export function advanceReference(referencePct: number, meanPct: number, hours: number): number {
  within('referencePct', referencePct, 0, FIBRE_SATURATION_PCT);
  within('meanPct', meanPct, 0, 40);
  within('hours', hours, 0, Number.MAX_VALUE);
  return meanPct + (referencePct - meanPct) * Math.exp(-hours / RELAXATION_HOURS);
}

/**
 * Where the slow mean starts: the moisture when ribbed if known, else the first season's mean; null when neither is.
 */
export function firstReference(ribbedPct: number | null, firstSeasonMeanPct: number | null): number | null {
  return ribbedPct ?? firstSeasonMeanPct;
}

export interface BoardMoisture {
  readonly species: Spruce;
  readonly moisturePct: number | null;
  readonly referencePct: number | null;
}

/**
 * Restrained strain across the grain of a quartersawn board: below zero it pulls (dry), above it presses (wet).
 * @returns a share of the width; null where a moisture is null
 * @source WoodHandbook-13-5
 */
export function boardStrain({ species, moisturePct, referencePct }: BoardMoisture): number | null {
  if (moisturePct === null || referencePct === null) return null;
  within('moisturePct', moisturePct, 0, 40);
  within('referencePct', referencePct, 0, FIBRE_SATURATION_PCT);
  return movementPerPct(species, 'radial') * (Math.min(moisturePct, FIBRE_SATURATION_PCT) - referencePct);
}

export interface BoardState extends BoardMoisture {
  readonly construction: Construction;
  readonly findings: readonly BoardFinding[];
}

export interface BoardStress {
  /** 0 at rest, 1 from half of what is allowed, 2 from three quarters, 3 from all of it; null where it cannot be told. */
  readonly class: StrainClass | null;
  /** Null where the board is at rest or nothing can be told. */
  readonly side: 'dry' | 'wet' | null;
  /** Strain over what is allowed, 0 or more. */
  readonly ratio: number | null;
  /** Allowed strain on the side the board stands, after findings. */
  readonly allowed: number;
  readonly reason: string;
}

const WORDS: Readonly<Record<StrainClass, string>> = {
  0: 'at rest',
  1: 'under some strain',
  2: 'under strong strain',
  3: 'strained beyond what wood bears without setting',
};

/** The class of a board's strain, with its reason in a sentence. */
export function boardStressClass(state: BoardState): BoardStress {
  const strain = boardStrain(state);
  const side = strain !== null && strain > 0 ? 'wet' : 'dry';
  const findings = [...new Set(state.findings)];
  const allowed = findings.reduce(
    (left, finding) => left * LEAVES[finding][side],
    side === 'dry' ? YIELD_STRAIN : CRUSH_STRAIN,
  );
  const { moisturePct, referencePct } = state;
  if (state.construction === 'laminated') {
    const reason = 'A laminated board hardly moves across its grain; it gets no strain class.';
    return { class: null, side: null, ratio: null, allowed, reason };
  }
  if (strain === null || moisturePct === null || referencePct === null) {
    const reason = `The ${moisturePct === null ? 'moisture' : 'past'} of the board is not known yet.`;
    return { class: null, side: null, ratio: null, allowed, reason };
  }
  const perPct = movementPerPct(state.species, 'radial');
  const counted =
    side === 'dry' ? -strain : Math.min(strain, RELEASE * perPct * Math.max(0, moisturePct - ASKED_FOR_PCT));
  const ratio = counted / allowed;
  const strainClass = ratio >= 1 ? 3 : ratio >= 0.75 ? 2 : ratio >= 0.5 ? 1 : 0;
  const lowered = findings.length > 0 ? `; ${findings.join(', ')} lowers what it bears` : '';
  const reason =
    `Board at ${moisturePct.toFixed(1)} % moisture against ${referencePct.toFixed(1)} % of its own past: ` +
    `${Math.round(ratio * 100)} % of the strain allowed ${side === 'dry' ? 'in drying' : 'in swelling'}, ` +
    `${WORDS[strainClass]}${lowered}.`;
  return { class: strainClass, side: strainClass === 0 ? null : side, ratio, allowed, reason };
}
