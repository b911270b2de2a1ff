/**
 * The stretched string: what tension, length and temperature do to its pitch.
 *
 * f = (1/2L) sqrt(stress/density), so stress and strain follow from pitch and speaking length alone, whatever the
 * diameter. @source Mersenne
 * Caution wherever a number here leads to a hand on a tuning pin: a string bears 600 to 900 N, all of them 15 to 20 t
 * of force together. Old or rusty strings break without warning; eyes are protected, faces kept out of line.
 */
import { type Register, sampleNote } from './pitch.ts';
import { within } from './range.ts';

/** Music wire near room temperature: density kg/m³, Young's modulus Pa, expansion 1/K (the last two recalled). */
export const STEEL = { densityKgM3: 7850, youngPa: 200e9, expansionPerK: 11.5e-6 } as const;

/** Tensile stress of a plain string sounding at a pitch, Pa. @param lengthM speaking length, 0.03 to 2.5 m */
export function stringStressPa(hz: number, lengthM: number): number {
  within('hz', hz, 20, 5000);
  within('lengthM', lengthM, 0.03, 2.5);
  return 4 * hz * hz * lengthM * lengthM * STEEL.densityKgM3;
}

/** Tension of a plain string, N. @param diameterMm 0.5 to 2 */
export function stringTensionN(hz: number, lengthM: number, diameterMm: number): number {
  within('diameterMm', diameterMm, 0.5, 2);
  return (stringStressPa(hz, lengthM) * Math.PI * (diameterMm / 1000) ** 2) / 4;
}

/** Pitch change for a change of tension, cents: 1 % of tension is 8.61 cents. @param ratio new over old tension */
export function centsForTensionRatio(ratio: number): number {
  within('ratio', ratio, 0.1, 10);
  return 600 * Math.log2(ratio);
}

/** Tension ratio that a pitch change takes: 100 cents take 12.2 % more. */
export function tensionRatioForCents(cents: number): number {
  return 2 ** (within('cents', cents, -1200, 1200) / 600);
}

/** Pitch of a string between rigid ends per kelvin of its own warming, cents/K, below zero. Small change. */
export function freeStringCentsPerK(hz: number, lengthM: number): number {
  const strain = stringStressPa(hz, lengthM) / STEEL.youngPa;
  return (-600 / Math.LN2) * (STEEL.expansionPerK / strain);
}

/** Speaking lengths at the sample notes of a medium grand, m; typical, recalled. The wound A1 counts its core. */
const SPEAKING_M: Readonly<Record<Exclude<Register, 'bass'>, number>> = {
  tenor: 1.12,
  middle: 0.4,
  treble: 0.205,
  top: 0.107,
};
/** Wound strings by the strain of their core, 700 to 1000 MPa: 0.0043; typical, recalled. */
const WOUND_CORE_STRAIN = 0.85e9 / STEEL.youngPa;

/**
 * Cents per kelvin by which the strings are warmer than the plate: within minutes, and gone when the plate follows.
 */
export function fastCentsPerK(register: Register): number {
  if (register === 'bass') return (-600 / Math.LN2) * (STEEL.expansionPerK / WOUND_CORE_STRAIN);
  return freeStringCentsPerK(sampleNote(register).hz, SPEAKING_M[register]);
}

/**
 * Cents per kelvin once strings, plate and board are all at the new temperature: -0.35, the tenor -0.25. Common
 * practice, no source; steel that expands 2 ppm/K more than iron would give the same.
 */
export function slowCentsPerK(register: Register): number {
  return register === 'tenor' ? -0.25 : -0.35;
}

export interface PianoTemperature {
  readonly stringC: number | null;
  readonly plateC: number | null;
  /** Temperature at which the pitch is reckoned. */
  readonly referenceC: number;
}

/**
 * What temperature alone does to a register, cents: a fast part, strings against plate, and a slow one, plate
 * against the reference. Both come back by themselves; neither is a reason to tune.
 */
export function temperatureEffectCents(
  register: Register,
  { stringC, plateC, referenceC }: PianoTemperature,
): { fastCents: number; slowCents: number } | null {
  if (stringC === null || plateC === null) return null;
  for (const [name, value] of [['stringC', stringC] as const, ['plateC', plateC] as const])
    within(name, value, -40, 60);
  within('referenceC', referenceC, -40, 60);
  return {
    fastCents: fastCentsPerK(register) * (stringC - plateC),
    slowCents: slowCentsPerK(register) * (plateC - referenceC),
  };
}

/** An offset as it would be with the whole piano at the reference temperature, cents. */
export function offsetAtReference(
  register: Register,
  offsetCents: number | null,
  temperature: PianoTemperature,
): number | null {
  const effect = temperatureEffectCents(register, temperature);
  return effect === null || offsetCents === null ? null : offsetCents - effect.fastCents - effect.slowCents;
}
