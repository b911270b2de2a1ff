/**
 * Weather outdoors, every six hours: an annual and a daily course with fronts of some days and spells of some weeks, and years
 * that differ. Physical, and nothing like the harmonic-plus-two-lags that the forecast assumes indoors.
 */
import { absoluteHumidityGm3 } from '../../../server/science/air.ts';
import type { Random } from '../../../server/science/drift/random.ts';

export const stepMs = 6 * 3_600_000;
export const stepsPerDay = 4;

export interface Climate {
  readonly meanC: number;
  readonly annualC: number;
  readonly humidityPct: number;
}

/** From a mild coast to a cold inland. */
export const climates: readonly Climate[] = [
  { meanC: 10.5, annualC: 6, humidityPct: 80 },
  { meanC: 9, annualC: 10.5, humidityPct: 75 },
  { meanC: 7, annualC: 14, humidityPct: 70 },
  { meanC: 16, annualC: 9, humidityPct: 72 },
];

export interface Weather {
  /** Starts on the first of January. */
  readonly temperatureC: Float64Array;
  readonly vapourGm3: Float64Array;
}

/** A first-order random course with a standard deviation and a memory in days. */
export function wandering(random: Random, count: number, sd: number, memoryDays: number): Float64Array {
  const out = new Float64Array(count);
  const keep = Math.exp(-1 / (memoryDays * stepsPerDay));
  const kick = sd * Math.sqrt(1 - keep * keep);
  let value = sd * random.normal();
  for (let i = 0; i < count; i++) {
    out[i] = value;
    value = keep * value + kick * random.normal();
  }
  return out;
}

export function weatherOf(random: Random, climate: Climate, days: number): Weather {
  const count = days * stepsPerDay;
  const fronts = wandering(random, count, 3.6, 3);
  const spells = wandering(random, count, 2, 40);
  const damp = wandering(random, count, 9, 2);
  const dampSpells = wandering(random, count, 4, 30);
  const temperatureC = new Float64Array(count);
  const vapourGm3 = new Float64Array(count);
  const annual: number[] = [];
  for (let i = 0; i < count; i++) {
    const day = i / stepsPerDay;
    const year = Math.floor(day / 365.25);
    const strength = annual[year] ?? 1 + 0.08 * random.normal();
    annual[year] = strength;
    const season = -Math.cos((2 * Math.PI * (day - 20)) / 365.25);
    const hour = -Math.cos(2 * Math.PI * (day - 0.1));
    const t =
      climate.meanC +
      climate.annualC * strength * season +
      (2 + season) * hour +
      (fronts[i] ?? 0) * (1 - 0.25 * season) +
      (spells[i] ?? 0);
    const humidity = climate.humidityPct - 5 * season - 9 * hour + (damp[i] ?? 0) + (dampSpells[i] ?? 0);
    temperatureC[i] = t;
    vapourGm3[i] = absoluteHumidityGm3(t, Math.min(99, Math.max(25, humidity)));
  }
  return { temperatureC, vapourGm3 };
}
