export { addVisit } from './add-visit.ts';
export { type AirSeries, type MoistureCourse, moistureAt, moistureCourse } from './board-lag.ts';
export { type FitOptions, fitDrift } from './fit-drift.ts';
export { lagGridDays, lagWeightsOf, meanLagDays } from './lags.ts';
export { type LookBackOptions, lookBack, type Outlook, type ScoredInterval } from './look-back.ts';
export type { DriftObservation } from './observation.ts';
export { type Exclusion, type Move, observationsOf, type PitchVisit } from './observations-of.ts';
export { ownSlope } from './own-line.ts';
export type { DriftPosterior, OwnSlope, RegisterPosterior } from './posterior.ts';
export { beyondTolerance, type Change, type OffsetPrediction, predictOffset } from './predict-offset.ts';
export { type Random, seededRandom } from './random.ts';
export { type Finish, type Instrument, type Kind, type Register, registers } from './registers.ts';
export { band } from './residual.ts';
export { type PastInterval, type RivalName, rivalNames } from './rivals.ts';
export { type Score, scoreOf } from './scores.ts';
export {
  type SpreadChange,
  type SpreadObservation,
  type SpreadPosterior,
  type SpreadPrediction,
  type SpreadReading,
  type SpreadWord,
  addSpread,
  fitSpread,
  predictSpread,
  spreadBeyond,
} from './spread.ts';
export { spreadChangeOf } from './spread-change.ts';
export { type DailyCourse, drawCourse, fitCourse } from './daily-course.ts';
export { outlookAt } from './outlook.ts';
export { type BoardNow, boardNow, drawPaths, type Paths } from './paths.ts';
export { type ClimateKnowledge, type ClimateSource, type DailyAir, dailyMeans, roomClimate, type RoomClimate } from './room-climate.ts';
