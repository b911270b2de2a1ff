/** What the model learns from: one interval from a tuning's "as left" to the next visit's "as found". */
import type { Finish, Kind, Register } from './registers.ts';

export interface DriftObservation {
  readonly instrument: string;
  readonly kind: Kind;
  readonly finish: Finish | null;
  readonly fromMs: number;
  readonly toMs: number;
  /** Change of the board's mean moisture (%MC): one value, or one for each lag of the grid. */
  readonly moistureChangePct: number | readonly number[];
  readonly years: number;
  /** Change of the temperature at the piano (K). */
  readonly temperatureChangeC: number;
  /** Raise made at the beginning of the interval (cents, up positive) times the share of its settling that fell within it. */
  readonly settlingCents?: number;
  /** Share of the creep of new strings that fell within the interval, 0-1; 0 where the strings are old. */
  readonly freshStrings?: number;
  /** As found minus what was left (cents), for the registers that were measured both times. */
  readonly changeCents: Readonly<Partial<Record<Register, number>>>;
  /** True where A4 alone was measured and stands for the middle register. */
  readonly onlyA4?: boolean;
}

/** The columns of the fixed part. The first carries the instrument's own slope as well. */
export const columns = [
  'moisture',
  'uprightMoisture',
  'years',
  'temperature',
  'settling',
  'freshStrings',
] as const;
export type Column = (typeof columns)[number];

/** Values of all six columns, given the moisture change at the lag in use. */
export function columnValues(
  kind: Kind,
  moistureChangePct: number,
  change: { years: number; temperatureChangeC: number; settlingCents?: number; freshStrings?: number },
): number[] {
  return [
    moistureChangePct,
    kind === 'upright' ? moistureChangePct : 0,
    change.years,
    change.temperatureChangeC,
    change.settlingCents ?? 0,
    change.freshStrings ?? 0,
  ];
}

/** @throws RangeError naming the field that is not a finite number. */
export function checkObservation(observation: DriftObservation, lags: number): void {
  const { moistureChangePct, changeCents } = observation;
  const where = `observation of ${observation.instrument}`;
  const finite = (name: string, value: number) => {
    if (!Number.isFinite(value))
      throw new RangeError(`${where}: ${name} must be a finite number, not ${value}`);
  };
  const moisture = typeof moistureChangePct === 'number' ? [moistureChangePct] : moistureChangePct;
  if (moisture.length !== lags) {
    throw new RangeError(`${where}: moistureChangePct has ${moisture.length} values for ${lags} lags`);
  }
  for (const value of moisture) finite('moistureChangePct', value);
  finite('years', observation.years);
  if (observation.years < 0) throw new RangeError(`${where}: years must not be negative`);
  finite('temperatureChangeC', observation.temperatureChangeC);
  finite('settlingCents', observation.settlingCents ?? 0);
  finite('freshStrings', observation.freshStrings ?? 0);
  for (const [register, cents] of Object.entries(changeCents)) finite(`changeCents.${register}`, cents);
}
