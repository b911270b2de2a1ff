/**
 * A reading: what one sensor measured at one time. Absence of a quantity means "not in this message"; a later
 * message may fill it. Values are kept to 0.01, so that the same value always compares equal on every engine.
 */
export const quantities = ['humidityPct', 'temperatureC', 'batteryPct'] as const;
export type Quantity = (typeof quantities)[number];

export interface SeriesId {
  /** The tenant; a gateway writes only into its own. */
  readonly organisation: string;
  /** The name the sensor publishes under, such as urn:dev:mac:0024befffe804ff1. */
  readonly sensor: string;
}

export interface Reading extends SeriesId {
  /** When it was measured, UTC epoch milliseconds. */
  readonly timeMs: number;
  /** Relative humidity, 0-100. */
  readonly humidityPct?: number;
  readonly temperatureC?: number;
  /** Remaining charge, 0-100. */
  readonly batteryPct?: number;
}

/** The integer every engine keeps: hundredths of the unit. */
export const toHundredths = (value: number): number => Math.round(value * 100);
export const fromHundredths = (kept: number): number => kept / 100;
