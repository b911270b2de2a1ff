export { type FitOptions, fitDrift } from './fit-drift.ts';
export type { DriftObservation } from './observation.ts';
export { ownSlope } from './own-line.ts';
export type { DriftPosterior, OwnSlope, RegisterPosterior } from './posterior.ts';
export { type Register, registers } from './registers.ts';
