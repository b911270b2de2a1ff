export { addVisit } from './add-visit.ts';
export { type BestDates, type BestDatesInput, bestDates } from './best-dates.ts';
export { type AirSeries, type MoistureCourse, moistureAt, moistureCourse } from './board-lag.ts';
export {
  type ControlCause,
  type ControlEffect,
  type ControlLoss,
  type ControlSettings,
  controlEffect,
  type HumiditySeries,
} from './control-effect.ts';
export type { ControlKind } from './control-model.ts';
export { type DailyCourse, drawCourse, fitCourse } from './daily-course.ts';
export { type Advice, type TuningDecision, tuningDecision } from './decision.ts';
export { type FitOptions, fitDrift } from './fit-drift.ts';
export {
  alongPaths,
  type Fan,
  type Forecast,
  type ForecastInput,
  type ForecastPaths,
  forecast,
  forecastPaths,
  summarise,
} from './forecast.ts';
export { lagGridDays, lagWeightsOf, meanLagDays, overLags } from './lags.ts';
export { type LookBackOptions, lookBack, type Outlook, type ScoredInterval } from './look-back.ts';
export type { DriftObservation } from './observation.ts';
export { type Exclusion, type Move, observationsOf, type PitchVisit } from './observations-of.ts';
export { outlookAt } from './outlook.ts';
export { ownSlope } from './own-line.ts';
export { type BoardNow, boardNow, drawPaths, type Paths } from './paths.ts';
export type { DriftPosterior, OwnSlope, RegisterPosterior } from './posterior.ts';
export { beyondTolerance, type Change, type OffsetPrediction, predictOffset } from './predict-offset.ts';
export { type Random, seededRandom } from './random.ts';
export { type Finish, type Instrument, type Kind, type Register, registers } from './registers.ts';
export { band } from './residual.ts';
export { type PastInterval, type RivalName, rivalNames } from './rivals.ts';
export {
  type ClimateKnowledge,
  type ClimateSource,
  type DailyAir,
  dailyMeans,
  type RoomClimate,
  roomClimate,
} from './room-climate.ts';
export { type Score, scoreOf } from './scores.ts';
export { type SinceTuning, sinceTuning } from './since-tuning.ts';
export {
  addSpread,
  fitSpread,
  predictSpread,
  type SpreadChange,
  type SpreadObservation,
  type SpreadPosterior,
  type SpreadPrediction,
  type SpreadReading,
  type SpreadWord,
  spreadBeyond,
} from './spread.ts';
export { spreadChangeOf } from './spread-change.ts';
export { type Break, usualBreaks } from './tolerance.ts';
export { type WaitAdvice, waitAdvice } from './wait-advice.ts';
export {
  type Change as ClimateChange,
  type Comparison,
  type Interval,
  type Place,
  type RunSummary,
  type WhatIf,
  type WhatIfInput,
  whatIf,
} from './what-if.ts';
export { type WhyItMoved, whatComesBack, whyItMoved } from './why-it-moved.ts';
