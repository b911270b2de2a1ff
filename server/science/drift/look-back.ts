/**
 * What would have been said, against what was then found. For every past interval the model is fitted on what had ended before the
 * origin, and on nothing else; so are its rivals. Good or bad, it is shown.
 */
import { addVisit } from './add-visit.ts';
import { drawDrift, drawnChange } from './draws.ts';
import { fitDrift } from './fit-drift.ts';
import { lagWeightsOf } from './lags.ts';
import type { DriftObservation } from './observation.ts';
import type { DriftPosterior } from './posterior.ts';
import { type Change, type OffsetPrediction, predictOffset } from './predict-offset.ts';
import { sortedQuantile } from './quantile.ts';
import { seededRandom } from './random.ts';
import { type Register, registers } from './registers.ts';
import { band, cumulative } from './residual.ts';
import { fitRivals, type PastInterval, type RivalName, type Rivals } from './rivals.ts';

/** Draws, as they stood at the origin, of what happens between the interval's beginning and its end. */
export interface Outlook {
  readonly moistureChangePct: Float64Array;
  readonly temperatureChangeC: Float64Array;
  /** Humidity at the origin, by the sensor: what a rival that reads humidity has to go by (%RH). */
  readonly humidityPct: number;
}

export interface LookBackOptions {
  /** Days before the visit at which the forecast is issued; 0: with the climate known up to the visit. */
  readonly horizonDays: number;
  readonly prior?: 'flat' | 'trade';
  /** The lags that the observations have values for. */
  readonly lagDays?: readonly number[];
  /** Intervals that must have been learned before scoring begins: rivals need a past too. */
  readonly fewest?: number;
  /** Days between fits of the whole fleet; visits between are added one by one. */
  readonly refitDays?: number;
  readonly seed?: number;
  /** Needed for a horizon over 0; null where nothing could be said then. */
  readonly outlook?: (
    interval: PastInterval,
    originMs: number,
    lagWeights: readonly number[],
  ) => Outlook | null;
}

export interface ScoredRegister {
  readonly register: Register;
  readonly foundCents: number;
  readonly expectedCents: number;
  readonly lowCents: number;
  readonly highCents: number;
  /** Share of the forecast that lay below what was found: even over 0 to 1 where forecasts are calibrated. */
  readonly rank: number;
  readonly rivals: Readonly<Record<RivalName, number>>;
}

/** One interval of one instrument; its registers share a visit and count once. */
export interface ScoredInterval {
  readonly instrument: string;
  readonly fromMs: number;
  readonly toMs: number;
  readonly originMs: number;
  readonly registers: readonly ScoredRegister[];
}

export const nominalCoverage = 0.8;
const msPerDay = 86_400_000;

export function lookBack(intervals: readonly PastInterval[], options: LookBackOptions): ScoredInterval[] {
  return lookFurther(intervals, options, null).scored;
}

/** How far a look-back has come. Plain JSON. */
export interface LookedBack {
  /** Scored since the one before. */
  readonly scored: ScoredInterval[];
  /** Intervals gone through, and of them scored, in all. */
  readonly asked: number;
  readonly scoredInAll: number;
  /** What was known at the last origin. */
  readonly known: Omit<Known, 'rivals'> | null;
}

/**
 * Goes on where an earlier look-back ended: the same is scored as from the beginning, in the time that the new visits take.
 * @param before over the same intervals but for those that ended last; null: from the beginning
 */
export function lookFurther(
  intervals: readonly PastInterval[],
  options: LookBackOptions,
  before: LookedBack | null,
): LookedBack {
  const { horizonDays, fewest = 10, refitDays = 14, outlook, seed = 1 } = options;
  if (horizonDays > 0 && outlook === undefined)
    throw new RangeError('outlook: needed where horizonDays is over 0');
  const ended = [...intervals].sort((a, b) => a.observation.toMs - b.observation.toMs);
  const asked = ended
    .map((interval) => ({ interval, originMs: interval.observation.toMs - horizonDays * msPerDay }))
    // Before the tuning there was nothing to foretell.
    .filter(({ interval, originMs }) => originMs > interval.observation.fromMs);
  const scored: ScoredInterval[] = [];
  const earlier = before?.scoredInAll ?? 0;
  let known: Known | null = before?.known
    ? { ...before.known, rivals: fitRivals(ended.slice(0, before.known.count)) }
    : null;
  for (const { interval, originMs } of asked.slice(before?.asked ?? 0)) {
    // Strictly before: what is found on the day itself is not yet known.
    let count = 0;
    while (count < ended.length && (ended[count]?.observation.toMs ?? Infinity) < originMs) count++;
    if (count < fewest) continue;
    known = knownAt(known, ended, count, originMs, refitDays * msPerDay, options);
    const { posterior, rivals } = known;
    const lags = lagWeightsOf(posterior, {
      id: interval.observation.instrument,
      kind: interval.observation.kind,
      finish: interval.observation.finish,
    });
    const seen = horizonDays === 0 ? null : (outlook?.(interval, originMs, lags) ?? null);
    if (horizonDays > 0 && seen === null) continue;
    scored.push(score(posterior, rivals, interval, originMs, seen, seed + earlier + scored.length));
  }
  return {
    scored,
    asked: asked.length,
    scoredInAll: earlier + scored.length,
    known: known && { posterior: known.posterior, count: known.count, fittedMs: known.fittedMs },
  };
}

interface Known {
  readonly posterior: DriftPosterior;
  readonly rivals: Rivals;
  readonly count: number;
  readonly fittedMs: number;
}

function knownAt(
  before: Known | null,
  ended: readonly PastInterval[],
  count: number,
  originMs: number,
  refitMs: number,
  options: LookBackOptions,
): Known {
  if (before !== null && before.count === count) return before;
  const past = ended.slice(0, count);
  const rivals = fitRivals(past);
  if (before !== null && originMs - before.fittedMs < refitMs) {
    const posterior = past
      .slice(before.count)
      .reduce((learned, { observation }) => addVisit(learned, observation), before.posterior);
    return { posterior, rivals, count, fittedMs: before.fittedMs };
  }
  const posterior = fitDrift(
    past.map(({ observation }) => observation),
    {
      prior: options.prior ?? 'trade',
      ...(options.lagDays === undefined ? {} : { lagDays: options.lagDays }),
    },
  );
  return { posterior, rivals, count, fittedMs: originMs };
}

function score(
  posterior: DriftPosterior,
  rivals: Rivals,
  interval: PastInterval,
  originMs: number,
  seen: Outlook | null,
  seed: number,
): ScoredInterval {
  const { observation } = interval;
  const instrument = { id: observation.instrument, kind: observation.kind, finish: observation.finish };
  const told =
    seen === null
      ? interval
      : { ...interval, spotHumidityPct: { ...interval.spotHumidityPct, to: seen.humidityPct } };
  const drawn = seen === null ? null : drawnBands(posterior, observation, seen, seed);
  const rows = registers.flatMap((register): ScoredRegister[] => {
    const foundCents = observation.changeCents[register];
    if (foundCents === undefined) return [];
    const prediction =
      seen === null
        ? plainBand(predictOffset(posterior, instrument, register, changeOf(observation)), foundCents)
        : drawn?.get(register)?.(foundCents);
    if (prediction === null || prediction === undefined) return [];
    return [{ register, foundCents, ...prediction, rivals: rivals.expect(register, told) }];
  });
  return {
    instrument: instrument.id,
    fromMs: observation.fromMs,
    toMs: observation.toMs,
    originMs,
    registers: rows,
  };
}

interface Band {
  readonly expectedCents: number;
  readonly lowCents: number;
  readonly highCents: number;
  readonly rank: number;
}

/** The interval as it was, for a visit up to which the climate is known. */
function changeOf(observation: DriftObservation): Change {
  return {
    leftCents: 0,
    moistureChangePct: observation.moistureChangePct,
    years: observation.years,
    temperatureChangeC: observation.temperatureChangeC,
    settlingCents: observation.settlingCents ?? 0,
    freshStrings: observation.freshStrings ?? 0,
    onlyA4: observation.onlyA4 ?? false,
  };
}

function plainBand(prediction: OffsetPrediction | null, foundCents: number): Band | null {
  if (prediction === null) return null;
  return {
    expectedCents: prediction.meanCents,
    ...band(prediction, nominalCoverage),
    rank: cumulative(prediction, foundCents),
  };
}

/** For each register, the band of its draws about what will be found. */
function drawnBands(
  posterior: DriftPosterior,
  observation: DriftObservation,
  seen: Outlook,
  seed: number,
): Map<Register, (foundCents: number) => Band> {
  const count = seen.moistureChangePct.length;
  const instrument = { id: observation.instrument, kind: observation.kind, finish: observation.finish };
  const draws = drawDrift(posterior, instrument, count, seededRandom(seed));
  const { years, settlingCents = 0, freshStrings = 0 } = observation;
  return new Map(
    draws.registers.map((one) => {
      const values = Float64Array.from({ length: count }, (_, k) =>
        drawnChange(draws, one, k, {
          moistureChangePct: seen.moistureChangePct[k] as number,
          temperatureChangeC: seen.temperatureChangeC[k] as number,
          years,
          settlingCents,
          freshStrings,
        }),
      ).sort();
      const tail = (1 - nominalCoverage) / 2;
      return [
        one.register,
        (foundCents) => ({
          expectedCents: sortedQuantile(values, 0.5),
          lowCents: sortedQuantile(values, tail),
          highCents: sortedQuantile(values, 1 - tail),
          rank: values.filter((value) => value < foundCents).length / count,
        }),
      ];
    }),
  );
}
