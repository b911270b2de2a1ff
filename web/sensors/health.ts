/** How a sensor is doing, in words. */
import type { Sensor } from '../../server/contract/index.ts';
import { percent, plain, signed } from '../words/numbers.ts';
import { degrees } from '../words/temperature.ts';
import { lasting, nearDay } from '../words/times.ts';

/** Below this a battery is asked to be changed: the watch's own default. */
const lowBatteryPct = 15;

export interface Health {
  /** Whether somebody has to do something about it. */
  readonly ails: boolean;
  readonly sentences: readonly string[];
}

export function health(sensor: Sensor, timeZone: string, nowMs: number): Health {
  const sentences: string[] = [];
  let ails = false;
  if (sensor.last === null) {
    sentences.push('Heard of, but no value yet.');
    ails = true;
  } else if (sensor.silent) {
    sentences.push(`Silent since ${nearDay(sensor.last.timeMs, timeZone, nowMs)}.`);
    ails = true;
  } else {
    const every = sensor.intervalMs === null ? '' : `, sends every ${lasting(sensor.intervalMs)}`;
    sentences.push(`Heard ${lasting(nowMs - sensor.last.timeMs)} ago${every}.`);
  }
  if (sensor.batteryPct !== null && sensor.batteryPct < lowBatteryPct) {
    sentences.push('Change its battery soon.');
    ails = true;
  }
  if (sensor.signs.length > 0) ails = true;
  sentences.push(...sensor.signs);
  if (sensor.correction) sentences.push(`Put right by ${correctionWords(sensor.correction)}.`);
  return { ails, sentences };
}

function correctionWords({ gain, offsetPct, offsetC }: NonNullable<Sensor['correction']>): string {
  const parts = [
    ...(gain === 1 ? [] : [`×\u00a0${plain(gain, 3)}`]),
    ...(offsetPct === 0 ? [] : [`${signed(offsetPct, 1)}\u00a0points`]),
    ...(offsetC === 0 ? [] : [`${signed(offsetC, 1)}\u00a0°C`]),
  ];
  return parts.join(', ');
}

export function lastValue(sensor: Sensor): string {
  if (!sensor.last) return '–';
  const { humidityPct, temperatureC } = sensor.last;
  const parts = [
    ...(humidityPct === null ? [] : [percent(humidityPct, 1)]),
    ...(temperatureC === null ? [] : [degrees(temperatureC)]),
  ];
  return parts.length === 0 ? '–' : parts.join(' · ');
}
