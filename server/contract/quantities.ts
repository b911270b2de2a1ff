/**
 * The words and shapes every other part of the contract is made of.
 * One quantity, one spelling, one unit: humidityPct 0-100, temperatureC, timeMs (UTC epoch), moisturePct (% of
 * dry mass), offsetCents (from the instrument's own pitch standard).
 */
import * as z from 'zod/mini';

/** Ids are UUIDs made by whoever creates the thing, so that sending it twice is harmless. */
export const id = z.uuid();
export const timeMs = z.int().check(z.gte(0), z.lte(4_102_444_800_000));
export const name = z.string().check(z.trim(), z.minLength(1), z.maxLength(120));
export const words = z.string().check(z.maxLength(20_000));
export const humidityPct = z.number().check(z.gte(0), z.lte(100));
export const temperatureC = z.number().check(z.gte(-40), z.lte(85));

/** bass: wound strings; tenor: lowest plain strings up to about F3; middle: to C5; treble: to C6; top: the rest. */
export const registers = ['bass', 'tenor', 'middle', 'treble', 'top'] as const;
export const register = z.enum(registers);
export type Register = z.infer<typeof register>;

/** Condition, urgency and recommendation classes 0-3 after the pattern of EN 16096:2012. */
export const class0to3 = z.union([z.literal(0), z.literal(1), z.literal(2), z.literal(3)]);
export type Class0to3 = z.infer<typeof class0to3>;

export const uses = ['concert', 'studio', 'practice', 'worship', 'home'] as const;
export const use = z.enum(uses);
export type Use = z.infer<typeof use>;

export const nullableNumbers = z.array(z.nullable(z.number()));

/** Humidity and temperature as columns on the grid they stand beside; null where nothing was measured. */
export const airColumns = z.object({ humidityPct: nullableNumbers, temperatureC: nullableNumbers });
export type AirColumns = z.infer<typeof airColumns>;

/** One look at the air: what a sensor said last, or an hour's mean. */
export const airNow = z.object({
  timeMs,
  humidityPct: z.nullable(z.number()),
  temperatureC: z.nullable(z.number()),
});
export type AirNow = z.infer<typeof airNow>;
