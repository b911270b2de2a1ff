/** The science of air, wood, soundboard and pitch: pure functions whose names carry their units. */
export * from './air.ts';
export * from './drift-prior.ts';
export * from './films.ts';
export * from './normal.ts';
export * from './parts.ts';
export * from './pitch.ts';
export * from './slab.ts';
export * from './soundboard.ts';
export * from './wood.ts';
