import { dayName, span } from '../wording.ts';
import type { Decision } from './rule.ts';

export interface SensorSituation {
  readonly nowMs: number;
  readonly timeZone: string;
  readonly lastMs: number;
  /** Usual time between readings; null until learned. */
  readonly intervalMs: number | null;
  readonly batteryPct: number | null;
}

/** Until its own interval is learned, a sensor is taken to send every quarter of an hour. */
const usualIntervalMs = 15 * 60_000;
const missed = 3;
/** Three missed minutes of a sensor that sends every minute are not worth a journey. */
const leastSilenceMs = 60 * 60_000;

export const silentAfterMs = (intervalMs: number | null): number =>
  Math.max(missed * (intervalMs ?? usualIntervalMs), leastSilenceMs);

export function sensorSilent(sensor: SensorSituation): Decision {
  const silenceMs = sensor.nowMs - sensor.lastMs;
  const silent = silenceMs > silentAfterMs(sensor.intervalMs);
  const weak = sensor.batteryPct !== null && sensor.batteryPct < 15;
  return {
    rule: 'sensor-silent',
    begins: silent,
    stays: silent,
    stale: false,
    severity: 1,
    sinceMs: sensor.lastMs,
    what: `The sensor has been silent for ${span(silenceMs)}, since ${dayName(sensor.lastMs, sensor.timeZone, sensor.nowMs)}.`,
    why: weak
      ? `Its battery was at ${Math.round(sensor.batteryPct ?? 0)}\u00a0% when it last spoke.`
      : 'Nothing more can be said of what stands there until it speaks again.',
    toDo: weak ? 'Put a new battery in.' : 'See that it has power and reaches its gateway.',
    notBeforeMs: null,
    minutes: 10,
    evidence: {
      'silent for, hours': Math.round(silenceMs / 360_000) / 10,
      'usual interval, minutes': sensor.intervalMs === null ? null : Math.round(sensor.intervalMs / 60_000),
      'battery, %': sensor.batteryPct,
    },
  };
}
