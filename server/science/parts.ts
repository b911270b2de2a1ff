/**
 * The parts of a piano as slabs: how thick, how fast, open to the air on which face.
 *
 * Transverse diffusivity of spruce: 1.0e-10 m²/s. @source SanchezFerrer-2026
 * Beech, and here maple and hornbeam with it: spruce is 2 to 3 times as fast. @source Sonderegger-2011
 * A pinblock's glue lines slow it further: 2.5e-11, a proposal that puts its half time within the 3 to 10 weeks of
 * the trade. Emission of a surface in still air: 1e-7 m/s (range 1e-7 to 1e-6, recalled). @source Avramidis-Siau-1987
 * Dimensions are common practice, no source.
 */
import { type Finish, filmResistanceSPerM } from './films.ts';
import { within } from './range.ts';
import { DEFAULT_CELLS, type Face, type Part } from './slab.ts';
import type { Spruce } from './wood.ts';

const SPRUCE_M2S = 1e-10;
const HARDWOOD_M2S = 4e-11;
const PINBLOCK_M2S = 2.5e-11;
const STILL_AIR_MPS = 1e-7;

function face(finish: Finish): Face {
  return { emissionMps: STILL_AIR_MPS, filmSPerM: filmResistanceSPerM(finish) };
}

/** Glued to a neighbour: nothing passes. */
const SEALED: Face = { emissionMps: 0, filmSPerM: 0 };

export interface Board {
  readonly thicknessMm: number;
  readonly finish: Finish;
  readonly species: Spruce;
  /** Finish of the underside where it differs from the top's. */
  readonly undersideFinish?: Finish;
}

/**
 * A soundboard; both faces breathe. The spruces differ too little across the grain to be told apart here.
 * @throws RangeError for a thickness outside 3 to 20 mm
 */
export function soundboardPart({ thicknessMm, finish, species, undersideFinish = finish }: Board): Part {
  within('thicknessMm', thicknessMm, 3, 20);
  return {
    name: `soundboard ${species}`,
    thicknessM: thicknessMm / 1000,
    diffusivityM2s: SPRUCE_M2S,
    top: face(finish),
    underside: face(undersideFinish),
    cells: DEFAULT_CELLS,
  };
}

/** Cap of a bridge, 6 mm of maple glued to the body: open above only. Comes half way in 1 to 3 days. */
export function bridgeCapPart(): Part {
  return {
    name: 'bridge cap',
    thicknessM: 0.006,
    diffusivityM2s: HARDWOOD_M2S,
    top: face('bare'),
    underside: SEALED,
    cells: DEFAULT_CELLS,
  };
}

/** Body of a bridge, 30 mm of maple or beech between its two open sides. Half way in 2 to 6 weeks. */
export function bridgeBodyPart(): Part {
  return {
    name: 'bridge body',
    thicknessM: 0.03,
    diffusivityM2s: HARDWOOD_M2S,
    top: face('bare'),
    underside: face('bare'),
    cells: DEFAULT_CELLS,
  };
}

/** Pinblock, 35 mm of maple or beech plies. Half way in 3 to 10 weeks. */
export function pinblockPart(): Part {
  return {
    name: 'pinblock',
    thicknessM: 0.035,
    diffusivityM2s: PINBLOCK_M2S,
    top: face('bare'),
    underside: face('bare'),
    cells: DEFAULT_CELLS,
  };
}

/** A key stick of spruce or lime, 20 mm. Half way in 2 to 7 days. */
export function keyPart(): Part {
  return {
    name: 'key',
    thicknessM: 0.02,
    diffusivityM2s: SPRUCE_M2S,
    top: face('bare'),
    underside: face('bare'),
    cells: DEFAULT_CELLS,
  };
}

/** Flanges and shanks of hornbeam or maple, 5.5 mm. Half way in hours to 2 days. */
export function actionPart(): Part {
  return {
    name: 'action part',
    thicknessM: 0.0055,
    diffusivityM2s: HARDWOOD_M2S,
    top: face('bare'),
    underside: face('bare'),
    cells: DEFAULT_CELLS,
  };
}

/** Rim and case, 50 mm, finished outside and lacquered within. Months. */
export function casePart(finish: Finish = 'polyurethane'): Part {
  return {
    name: 'case',
    thicknessM: 0.05,
    diffusivityM2s: HARDWOOD_M2S,
    top: face(finish),
    underside: face('lacquer'),
    cells: DEFAULT_CELLS,
  };
}
