/** Offsets and unison spread along paths of the climate: one instrument's draws, day by day. */
import type { DriftDraws, RegisterDraws } from './draws.ts';
import { creepShare, settledShare } from './observations-of.ts';
import type { Paths } from './paths.ts';
import { median } from './quantile.ts';
import type { Register } from './registers.ts';
import { residualGrowth } from './residual.ts';
import type { SinceTuning } from './since-tuning.ts';
import type { SpreadDraws } from './spread-draws.ts';

const msPerDay = 86_400_000;
const daysPerYear = 365.25;

/** Years since the tuning at the end of each day of the paths. */
export function yearsSince(paths: Paths, since: SinceTuning): Float64Array {
  return Float64Array.from(
    { length: paths.days },
    (_, t) => Math.max(0, (paths.startMs - since.tunedMs) / msPerDay + t + 1) / daysPerYear,
  );
}

/**
 * Cents by register, path after path; registers that were never measured, or of which nothing is known, are left out.
 * @param known the tuning and what was read later, each with registers of its own
 */
export function offsetPaths(
  draws: DriftDraws,
  paths: Paths,
  known: readonly SinceTuning[],
): { register: Register; cents: Float64Array }[] {
  const found = known.flatMap((since) => offsetsSince(draws, paths, since));
  return draws.registers.flatMap((one) => found.filter(({ register }) => register === one.register));
}

function offsetsSince(
  draws: DriftDraws,
  paths: Paths,
  since: SinceTuning,
): { register: Register; cents: Float64Array }[] {
  const years = yearsSince(paths, since);
  const ageYears = since.strungMs === null ? null : (since.tunedMs - since.strungMs) / msPerDay / daysPerYear;
  const growth = years.map((passed) => (draws.grows ? residualGrowth(passed) : 1));
  const settled = years.map(settledShare);
  const crept = years.map((passed) => (ageYears === null ? 0 : creepShare(ageYears, passed)));
  return draws.registers.flatMap((one) => {
    const left = since.leftCents[one.register];
    if (left === undefined) return [];
    const cents = new Float64Array(paths.count * paths.days);
    for (let k = 0; k < paths.count; k++) {
      fillPath(cents, k, one, draws, paths, since, left, { years, growth, settled, crept });
    }
    return [{ register: one.register, cents }];
  });
}

function fillPath(
  cents: Float64Array,
  k: number,
  one: RegisterDraws,
  draws: DriftDraws,
  paths: Paths,
  since: SinceTuning,
  left: number,
  day: { years: Float64Array; growth: Float64Array; settled: Float64Array; crept: Float64Array },
): void {
  const slope = one.moisture[k] as number;
  const ageing = one.years[k] as number;
  const perK = one.temperature[k] as number;
  const settling = (one.settling[k] as number) * since.raiseCents;
  const creep = one.freshStrings[k] as number;
  const residual = one.residual[k] as number;
  const variance = one.residualSd ** 2;
  const errorVariance = draws.moistureErrorShare ** 2;
  const start = since.moisturePct[paths.lagOf[k] as number] as number;
  const from = k * paths.days;
  for (let t = 0; t < paths.days; t++) {
    const moved = slope * ((paths.moisturePct[from + t] as number) - start);
    cents[from + t] =
      left +
      moved +
      ageing * (day.years[t] as number) +
      perK * ((paths.temperatureC[from + t] as number) - since.temperatureC) +
      settling * (day.settled[t] as number) +
      creep * (day.crept[t] as number) +
      residual * Math.sqrt(variance * (day.growth[t] as number) + errorVariance * moved * moved);
  }
}

/** What the temperature of the first day does to the pitch, against that of the tuning: median of the registers foretold, mean of the paths. */
export function warmthNow(
  draws: DriftDraws,
  paths: Paths,
  since: SinceTuning,
  foretold: readonly { readonly register: Register }[],
): { cents: number; changeC: number } {
  const change = (k: number) => (paths.temperatureC[k * paths.days] as number) - since.temperatureC;
  const mean = (of: (k: number) => number) => {
    let sum = 0;
    for (let k = 0; k < paths.count; k++) sum += of(k);
    return sum / paths.count;
  };
  const cents = draws.registers
    .filter((one) => foretold.some(({ register }) => register === one.register))
    .map((one) => mean((k) => (one.temperature[k] as number) * change(k)));
  return { cents: cents.length === 0 ? 0 : median(cents), changeC: mean(change) };
}

/** Unison spread (cents), path after path. */
export function spreadPaths(draws: SpreadDraws, paths: Paths, since: SinceTuning): Float64Array {
  const years = yearsSince(paths, since);
  const cents = new Float64Array(paths.count * paths.days);
  const { left, range, use } = draws;
  for (let k = 0; k < paths.count; k++) {
    const lag = paths.lagOf[k] as number;
    const start = since.moisturePct[lag] as number;
    let low = since.lowestPct[lag] as number;
    let high = since.highestPct[lag] as number;
    const u = draws.squaredUnison[k] as number;
    const factor = draws.factor[k] as number;
    for (let t = 0; t < paths.days; t++) {
      const moisture = paths.moisturePct[k * paths.days + t] as number;
      low = Math.min(low, moisture);
      high = Math.max(high, moisture);
      const moved = (moisture - start) ** 2 + range * range * (high - low) ** 2;
      cents[k * paths.days + t] =
        factor * Math.sqrt(left * left + u * moved + use * use * (years[t] as number));
    }
  }
  return cents;
}
