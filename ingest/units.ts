/**
 * Units as senders write them, and what we keep of them. A unit is never guessed: "/" (a ratio) and a missing unit say
 * nothing about what was measured, and C is the coulomb.
 *
 * @source IANA SenML units registry (RFC 8428 section 12.1): Cel, K, %RH, %EL, %
 */
import type { Quantity } from './reading.ts';

export interface Measure {
  readonly quantity: Quantity;
  readonly toKept: (value: number) => number;
}

const same = (value: number): number => value;
const celsius: Measure = { quantity: 'temperatureC', toKept: same };
export const fahrenheitToC = (value: number): number => ((value - 32) * 5) / 9;
const fahrenheit: Measure = { quantity: 'temperatureC', toKept: fahrenheitToC };
const kelvin: Measure = { quantity: 'temperatureC', toKept: (value) => value - 273.15 };
const humidity: Measure = { quantity: 'humidityPct', toKept: same };
const battery: Measure = { quantity: 'batteryPct', toKept: same };

/** Registered names first; then other spellings, compared after NFKC folding (℃ is °C, ％ is %). */
const measures: ReadonlyMap<string, Measure> = new Map([
  ['Cel', celsius],
  ['K', kelvin],
  ['%RH', humidity],
  ['%EL', battery],
  ['°C', celsius],
  ['degC', celsius],
  ['degF', fahrenheit],
  ['°F', fahrenheit],
  ['%rh', humidity],
  ['% RH', humidity],
  ['% rh', humidity],
  ['%r.h.', humidity],
]);

/** How the last part of a name says what is measured. */
const namesOf: Readonly<Record<Quantity, readonly string[]>> = {
  humidityPct: ['humidity', 'hum', 'rh', 'relative_humidity', 'relativehumidity'],
  temperatureC: ['temperature', 'temp', 'airtemperature', 'air_temperature'],
  batteryPct: ['battery', 'bat', 'batt', 'battery_level', 'batterylevel'],
};
const quantityNamed: ReadonlyMap<string, Quantity> = new Map(
  Object.entries(namesOf).flatMap(([quantity, names]) => names.map((name) => [name, quantity as Quantity])),
);

/** Longer spellings first, so that "air_temperature" does not leave an "air" behind. */
const ending = new RegExp(
  `(?:^|[:/_.])(${[...quantityNamed.keys()].sort((a, b) => b.length - a.length).join('|')})$`,
  'i',
);

export interface NamedSensor {
  /** The name without the part that only says what is measured; '' where nothing else is left. */
  readonly sensor: string;
  /** What that part says. */
  readonly says: Quantity | null;
}

/**
 * Humidity and temperature often come under names of their own (…:humidity, …/temperature, …_rh, ….temp); they are
 * one sensor. A colon left at the end (urn:dev:ow:10e2073a01080063:) goes too.
 */
export function splitName(name: string): NamedSensor {
  const match = ending.exec(name);
  const says = match?.[1] ? (quantityNamed.get(match[1].toLowerCase()) ?? null) : null;
  const rest = match && says ? name.slice(0, match.index) : name;
  return { sensor: rest.replace(/[:/_.]+$/, ''), says };
}

export type Understood =
  | { readonly measure: Measure }
  /** Another quantity than ours: no fault of the sender, nothing to keep. */
  | { readonly foreign: true }
  | { readonly wrong: string };

const words: Readonly<Record<Quantity, string>> = {
  humidityPct: 'humidity',
  temperatureC: 'temperature',
  batteryPct: 'battery level',
};
const wanted: Readonly<Record<Quantity, string>> = {
  humidityPct: '%RH',
  temperatureC: 'Cel',
  batteryPct: '%EL',
};

/** What a unit means for a sensor whose name says (or does not say) what it measures. */
export function understandUnit(unit: string | undefined, says: Quantity | null): Understood {
  const folded = unit?.normalize('NFKC').trim();
  // The name removes the doubt that "%" alone leaves.
  if (folded === '%' && says === 'humidityPct') return { measure: humidity };
  if (folded === '%' && says === 'batteryPct') return { measure: battery };
  const measure = folded === undefined ? undefined : measures.get(folded);
  if (measure && (says === null || says === measure.quantity)) return { measure };
  if (measure && says) {
    return {
      wrong: `the name says ${words[says]}, but the unit “${unit}” is one of ${words[measure.quantity]}`,
    };
  }
  if (says === null) return { foreign: true };
  const found = unit === undefined ? 'no unit' : `the unit “${unit.slice(0, 20)}”`;
  return { wrong: `the name says ${words[says]}, but it has ${found}; ${wanted[says]} is taken` };
}
