/**
 * How each piano moves, learned from its tunings, and what that lets one say. Pure functions over plain data: posteriors, courses
 * and forecasts are JSON, randomness is a seed, times are UTC milliseconds.
 *
 * **The model.** Over an interval from a tuning's "as left" to the next "as found", in each of five registers,
 *
 *     change = b · Δmoisture + a · years + c · Δtemperature + s · settling + n · new strings + residual
 *
 * where b is the instrument's own, drawn about the fleet's (uprights have theirs). Δmoisture is the change of the mean moisture of a
 * board that follows its own air with a lag (`board-lag.ts`); nobody knows the lag, so it is averaged over those that the tunings
 * find likely, and how far they disagree goes into the band, as does a share of the change itself. The fit is restricted maximum
 * likelihood from a few sums per instrument (`sums.ts`, `reml.ts`); with `prior: 'flat'` it is what reference mixed-model software
 * answers, with `prior: 'trade'` the trade's expectations stand in until visits outweigh them. The residual is Student's t, and a
 * reading is judged by what the others foretold (`weigh.ts`): a slip moves nothing. Registers are fitted one by one and drawn
 * together (`draws.ts`), because one board and one error of the moisture stand behind all five.
 *
 * **The way through.** `observationsOf` says what may be learned from and why not the rest; `fitDrift` learns, `addVisit` learns
 * from one more; `predictOffset` and `whyItMoved` speak of a change that has happened. `roomClimate` says how a room goes on, and
 * from which source; `forecast` draws it, the board's moisture and the offsets, day by day. `tuningDecision`, `waitAdvice`,
 * `bestDates` and `whatIf` are read off those paths. `fitSpread` and `predictSpread` do for the unisons what the above does for pitch.
 * `lookBack` repeats all of it as of each past visit and scores it against its rivals. `controlEffect` watches the humidity control.
 *
 * **What it is not.** Slopes are those of the room and the sensor they were learned with. A what-if is a difference between two
 * runs of the model, never a promise. Nothing here says that a string, a pin or a plate can bear what a tuning asks of it.
 */
export { addVisit } from './add-visit.ts';
export { type BestDates, type BestDatesInput, bestDates } from './best-dates.ts';
export { type AirSeries, type MoistureCourse, moistureAt, moistureCourse } from './board-lag.ts';
export type { ControlCause } from './control-cause.ts';
export {
  type ControlEffect,
  type ControlLoss,
  type ControlSettings,
  controlEffect,
  type HumiditySeries,
} from './control-effect.ts';
export type { ControlKind } from './control-model.ts';
export { type DailyCourse, drawCourse, fitCourse } from './daily-course.ts';
export { type Advice, type TuningDecision, tuningDecision } from './decision.ts';
export { concertCents, eventUnsteadiness } from './event-steadiness.ts';
export { type FitOptions, fitDrift } from './fit-drift.ts';
export { addSpread, fitSpread } from './fit-spread.ts';
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
export {
  type LookBackOptions,
  type LookedBack,
  lookBack,
  lookFurther,
  type Outlook,
  type ScoredInterval,
} from './look-back.ts';
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
export { overallSpread, readingCents } from './spread-reading.ts';
export { type Break, beyondTolerancePaths, usualBreaks } from './tolerance.ts';
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
