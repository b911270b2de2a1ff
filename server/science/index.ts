/**
 * The science of air, wood, soundboard, pitch and drift: pure functions whose names carry their units. Of drift the public functions
 * are named here; its types, and what the service builds forecasts from, stand in `drift/index.ts`.
 */
export * from './air.ts';
export * from './calibration.ts';
export {
  addVisit,
  bestDates,
  controlEffect,
  eventUnsteadiness,
  fitDrift,
  fitSpread,
  forecast,
  lookBack,
  observationsOf,
  predictOffset,
  predictSpread,
  tuningDecision,
  waitAdvice,
  whatIf,
  whyItMoved,
} from './drift/index.ts';
export * from './films.ts';
export * from './historic-band.ts';
export * from './least-squares.ts';
export * from './mould.ts';
export * from './normal.ts';
export * from './parts.ts';
export * from './pitch.ts';
export * from './rooms.ts';
export * from './running.ts';
export * from './rust.ts';
export * from './slab.ts';
export * from './soundboard.ts';
export * from './strings.ts';
export * from './sweat.ts';
export * from './swings.ts';
export * from './wood.ts';
