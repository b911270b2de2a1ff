/**
 * What the trade expects before anything was measured, in cents per %MC, cents per year and cents per kelvin. All of it common
 * practice without a published source; made wide on purpose, so that a few visits outweigh it.
 *
 * @source trade-observations
 */
import type { Column } from './observation.ts';
import type { Register } from './registers.ts';
import type { RegisterPrior } from './reml.ts';

/** Slope of wood moisture on humidity at 20 °C between 25 and 55 %RH: turns cents per %RH into cents per %MC. */
const moisturePerHumidity = 0.16;

/** Median and 90 % range of the equilibrium response in cents per %RH. */
const response: Record<Register, { median: number; from: number; to: number }> = {
  bass: { median: 0.3, from: 0.1, to: 0.5 },
  tenor: { median: 1.0, from: 0.4, to: 1.8 },
  middle: { median: 0.5, from: 0.25, to: 0.9 },
  treble: { median: 0.4, from: 0.15, to: 0.75 },
  top: { median: 0.2, from: 0.05, to: 0.45 },
};

/** Small uprights have short, slack low tenor strings: 1.2 to 1.5 times a grand's response there, elsewhere about the same. */
const uprightExcess: Record<Register, { mean: number; sd: number }> = {
  bass: { mean: 0, sd: 0.6 },
  tenor: { mean: 2.2, sd: 2 },
  middle: { mean: 0, sd: 1 },
  treble: { mean: 0, sd: 0.8 },
  top: { mean: 0, sd: 0.5 },
};

/**
 * The 90 % range of the response mixes how little the trade knows of the mean with how much instruments differ. It is split
 * as 0.6² + 0.75² of its variance (proposal): instruments are taken to differ somewhat more than the trade is mistaken.
 */
export function registerPrior(register: Register): RegisterPrior {
  const { median, from, to } = response[register];
  const totalSd = (to - from) / 3.29 / moisturePerHumidity;
  const upright = uprightExcess[register];
  const parts: Record<Column, [mean: number, sd: number]> = {
    moisture: [median / moisturePerHumidity, 0.6 * totalSd],
    uprightMoisture: [upright.mean, upright.sd],
    // 0.15 cents a month on a settled instrument.
    years: [-1.8, 1],
    // -0.36 c/K over the whole of a slow grand, -0.2 to -0.3 in its tenor.
    temperature: [register === 'tenor' ? -0.25 : -0.35, 0.15],
    // A raise settles back by a few per cent after the visit (proposal).
    settling: [-0.05, 0.05],
    // New strings fall by tens of cents in their first year (proposal).
    freshStrings: [-15, 15],
  };
  const ordered = Object.values(parts);
  return {
    mean: ordered.map(([mean]) => mean),
    sd: ordered.map(([, sd]) => sd),
    slopeSd: { median: 0.75 * totalSd, logSd: 0.4 },
    residualSd: { median: 1.2, logSd: 0.5 },
  };
}

/** How far a board's lag strays from what its finish says, as a standard deviation of the log; an instrument's from its group's. */
export const lagLogSd = { known: 0.6, unknown: 0.8, own: 0.5 };

/** Scale of the half-normal prior of the error of the moisture change, as a share of it (proposal). */
export const moistureErrorScale = 0.2;
