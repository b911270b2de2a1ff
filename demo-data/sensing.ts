/** What does a sensor make of the air it hangs in? A little off, a little noisy, in steps of 0.1, on a battery. */
import { dayMs, stepMs } from './clock.ts';
import type { Fault } from './faults.ts';
import { chance, evenly, keyOf, scatter } from './random.ts';

export interface SensorNature {
  readonly key: number;
  /** It wakes so long after each step. */
  readonly phaseMs: number;
  readonly humidityGain: number;
  readonly humidityOffPct: number;
  readonly temperatureOffC: number;
  /** Days a battery lasts, and when the first one counted here was new. */
  readonly batteryDays: number;
  readonly batteryNewMs: number;
  /** The step of the day at which it tells its battery's charge. */
  readonly batteryStep: number;
}

/** Typical of small digital sensors: within some 1 %RH and 0.2 K, noise of a tenth or two (from memory). */
const noisePct = 0.12;
const noiseC = 0.04;
/** Share of single messages that radio loses. */
const lostShare = 0.002;
export const stepsPerDay = dayMs / stepMs;

export function sensorNature(seed: string, key: string, newMs: number): SensorNature {
  const draw = chance(`${seed} sensor ${key}`);
  return {
    key: keyOf(`${seed} noise ${key}`),
    phaseMs: 1000 * Math.floor((stepMs / 1000) * draw.uniform()),
    humidityGain: 1 + 0.008 * draw.normal(),
    humidityOffPct: 0.5 * draw.normal(),
    temperatureOffC: 0.12 * draw.normal(),
    batteryDays: 520 + 300 * draw.uniform(),
    batteryNewMs: newMs - 400 * dayMs * draw.uniform(),
    batteryStep: Math.floor(stepsPerDay * draw.uniform()),
  };
}

const tenth = (value: number): number => Math.round(value * 10) / 10;

/** @param index tells this reading's noise from every other's: the step, or in live running the second. */
export function sensedHumidityPct(nature: SensorNature, truePct: number, index: number): number {
  const off = nature.humidityOffPct + noisePct * scatter(nature.key, index);
  return Math.min(100, Math.max(0, tenth(truePct * nature.humidityGain + off)));
}

export function sensedTemperatureC(nature: SensorNature, trueC: number, index: number): number {
  return tenth(trueC + nature.temperatureOffC + noiseC * scatter(~nature.key, index));
}

export function isLost(nature: SensorNature, step: number): boolean {
  return evenly(nature.key ^ 0x5bd1e995, step) < lostShare;
}

/** Charge left, whole %. Batteries are changed at about 15 %, but for the one that was forgotten. */
export function batteryPct(nature: SensorNature, timeMs: number, flatMs: number | null): number {
  if (flatMs !== null) {
    const daysLeft = Math.max(0, (flatMs - timeMs) / dayMs);
    return Math.round(Math.min(100, 2 + 98 * (daysLeft / 600) ** 0.6));
  }
  const age = ((timeMs - nature.batteryNewMs) / dayMs / nature.batteryDays) % 1;
  return Math.round(100 - 85 * age ** 1.4);
}

/** When a sensor's readings are held still, or stop, and when its whole venue is cut off. */
export interface SensorFaults {
  readonly stuckFromMs: number;
  readonly stuckUntilMs: number;
  readonly flatMs: number | null;
  readonly gaps: readonly { readonly fromMs: number; readonly untilMs: number }[];
}

export function sensorFaults(
  faults: readonly Fault[],
  sensor: { readonly key: string; readonly venue: string },
): SensorFaults {
  const own = faults.filter((fault) => 'sensor' in fault && fault.sensor === sensor.key);
  const stuck = own.find((fault) => fault.kind === 'stuck');
  return {
    stuckFromMs: stuck?.fromMs ?? Number.POSITIVE_INFINITY,
    stuckUntilMs: stuck?.untilMs ?? Number.POSITIVE_INFINITY,
    flatMs: own.find((fault) => fault.kind === 'battery flat')?.fromMs ?? null,
    gaps: faults.filter((fault) => fault.kind === 'gap' && fault.venue === sensor.venue),
  };
}

/** Does anything of this sensor arrive at this time? */
export function arrives(faults: SensorFaults, timeMs: number): boolean {
  if (faults.flatMs !== null && timeMs >= faults.flatMs) return false;
  return !faults.gaps.some((gap) => timeMs >= gap.fromMs && timeMs < gap.untilMs);
}
