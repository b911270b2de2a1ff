/**
 * The climate a room's objects have grown used to: a band about the room's own season.
 * @source EN-15757 (procedure recalled, not re-read)
 *
 * Season: centred 30-day mean. Fluctuation: reading less season. Band: season plus the 7th and 93rd percentile of all
 * fluctuations of at least a year. Where the fluctuations are small the computed band would be needlessly strict, and
 * 10 %RH about the season is accepted: a limit is never nearer than that.
 */
import { type Hourly, quantile, runningMean } from './running.ts';

const YEAR_HOURS = 8760;
const SEASON_HOURS = 30 * 24;
const LEAST_PCT = 10;
/** Below, glued and laminated wood splits (common practice, no source); above, air is damp. @source CCI-humidity */
const DRY_PCT = 25;
const DAMP_PCT = 75;

export interface HistoricBand {
  /** Mean of the record, %RH. */
  readonly meanPct: number;
  /** 30-day centred mean by hour; null within 15 days of the record's ends and where half the window is missing. */
  readonly seasonPct: readonly (number | null)[];
  /** 7th and 93rd percentile of the fluctuations as found, %RH about the season. */
  readonly foundLowPct: number;
  readonly foundHighPct: number;
  /** What holds after the exception: at most -10 and at least +10. */
  readonly lowPct: number;
  readonly highPct: number;
  /** Said where the past itself was bad, whatever objects grew used to; a band about it is not a wish. */
  readonly caution: string | null;
}

/**
 * @param humidityPct one reading an hour, in order, at least 8760 (13 months give a whole year of season)
 * @returns null where the record is shorter, or less than half of a year's season could be told
 */
export function historicBand(humidityPct: Hourly): HistoricBand | null {
  if (humidityPct.length < YEAR_HOURS) return null;
  const seasonPct = runningMean(humidityPct, SEASON_HOURS, { place: 'centred' });
  const fluctuations: number[] = [];
  let sum = 0;
  let measured = 0;
  let least = Number.POSITIVE_INFINITY;
  let most = Number.NEGATIVE_INFINITY;
  humidityPct.forEach((value, i) => {
    if (value === null) return;
    sum += value;
    measured += 1;
    const season = seasonPct[i] ?? null;
    if (season === null) return;
    fluctuations.push(value - season);
    least = Math.min(least, season);
    most = Math.max(most, season);
  });
  if (fluctuations.length < YEAR_HOURS / 2) return null;
  const foundLowPct = quantile(fluctuations, 0.07);
  const foundHighPct = quantile(fluctuations, 0.93);
  if (foundLowPct === null || foundHighPct === null) return null;
  const lowPct = Math.min(foundLowPct, -LEAST_PCT);
  const highPct = Math.max(foundHighPct, LEAST_PCT);
  return {
    meanPct: sum / measured,
    seasonPct,
    foundLowPct,
    foundHighPct,
    lowPct,
    highPct,
    caution: cautionOf(least, most),
  };
}

function cautionOf(leastSeasonPct: number, mostSeasonPct: number): string | null {
  const dry = leastSeasonPct < DRY_PCT;
  const damp = mostSeasonPct > DAMP_PCT;
  if (!dry && !damp) return null;
  const words = [
    ...(dry ? [`a season at ${leastSeasonPct.toFixed(0)} %RH, dry enough to split glued wood`] : []),
    ...(damp ? [`a season at ${mostSeasonPct.toFixed(0)} %RH, damp enough for mould`] : []),
  ];
  return `This room's past had ${words.join(' and ')}: being used to it does not make it good.`;
}

/**
 * Limits for an hour, %RH within 0 to 100. In the last 15 days the season is that of the same hour a year before (or
 * after, at the start).
 * @param hour index into the series the band was made from, or past its end
 */
export function limitsAt(band: HistoricBand, hour: number): { lowPct: number; highPct: number } | null {
  const season =
    band.seasonPct[hour] ?? band.seasonPct[hour - YEAR_HOURS] ?? band.seasonPct[hour + YEAR_HOURS];
  if (season === undefined || season === null) return null;
  return { lowPct: Math.max(0, season + band.lowPct), highPct: Math.min(100, season + band.highPct) };
}
