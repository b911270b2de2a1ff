/** What can be wrong with a sensor: silent, stuck, off against its neighbours, its battery low. Pure. */
import type { Class0to3, RuleName, Settings } from '../../contract/index.ts';
import type { Durations, Measure } from '../condition.ts';
import { dayName, span } from '../wording.ts';
import { afterHours, atOnce, type Words } from './rule.ts';

export interface SensorSituation {
  readonly nowMs: number;
  readonly timeZone: string;
  readonly settings: Settings;
  readonly urn: string;
  readonly lastMs: number;
  /** Usual time between readings; null until learned. */
  readonly intervalMs: number | null;
  readonly batteryPct: number | null;
  /** Greatest less least value over the window in which it should have moved; null where that was not looked at. */
  readonly ownRange: {
    readonly humidityPct: number;
    readonly temperatureC: number;
    readonly readings: number;
  } | null;
  /** Median humidity range of the sensors of its venue over the same window; null where it stands alone. */
  readonly othersRangePct: number | null;
  /** Week's mean less that of the others in its room; null where none stands beside it. */
  readonly offPct: number | null;
}

export interface SensorRule {
  readonly name: RuleName;
  readonly durations: Durations;
  measure(sensor: SensorSituation): Measure | null;
  readonly severity: Class0to3;
  say(sensor: SensorSituation): Words;
}

/** Until its own interval is learned, a sensor is taken to send every quarter of an hour. */
const usualIntervalMs = 15 * 60_000;
/** Three missed minutes of a sensor that sends every minute are not worth a journey. */
const leastSilenceMs = 60 * 60_000;

export const silentAfterMs = (intervalMs: number | null, intervals = 3): number =>
  Math.max(intervals * (intervalMs ?? usualIntervalMs), leastSilenceMs);

const said = { toClient: '', notBeforeMs: null, minutes: 10 };
const weak = (sensor: SensorSituation): boolean =>
  sensor.batteryPct !== null && sensor.batteryPct < sensor.settings['battery begins'];
const battery = (sensor: SensorSituation): string => `${Math.round(sensor.batteryPct ?? 0)}\u00a0%`;

const silent: SensorRule = {
  name: 'sensor-silent',
  // A gateway that restarts or a house without power for some hours asks for nobody's hands.
  durations: { beginAfterMs: 0, endAfterMs: 0 },
  measure(sensor) {
    const after = silentAfterMs(sensor.intervalMs, sensor.settings['silent intervals']);
    const gone = sensor.nowMs - sensor.lastMs > after;
    return { over: gone, quiet: !gone };
  },
  severity: 1,
  say(sensor) {
    const since = dayName(sensor.lastMs, sensor.timeZone, sensor.nowMs);
    return {
      ...said,
      what: `The sensor has been silent since ${since}.`,
      why: weak(sensor)
        ? `Its battery was at ${battery(sensor)} when it last spoke.`
        : 'Nothing more can be said of what stands there until it speaks again.',
      toDo: weak(sensor) ? 'Put a new battery in.' : 'See that it has power and reaches its gateway.',
      toVenue: weak(sensor)
        ? 'Please put a new battery into the sensor in this room.'
        : 'Please see that the sensor in this room and its gateway have power.',
      evidence: {
        'silent for, hours': Math.round((sensor.nowMs - sensor.lastMs) / 360_000) / 10,
        'usual interval, minutes': sensor.intervalMs === null ? null : Math.round(sensor.intervalMs / 60_000),
        'battery, %': sensor.batteryPct,
      },
    };
  },
};

/** A live sensor's own noise moves it more than this within a day. */
const stillPct = 0.15;
const stillC = 0.15;
/** Others have moved when their median range is at least this. */
const movedPct = 1;
/** Alone, stillness to the last digit must do, over so many readings that no room is so even. */
const aloneReadings = 100;

const stuck: SensorRule = {
  name: 'sensor-stuck',
  durations: { beginAfterMs: 0, endAfterMs: 0 },
  measure(sensor) {
    const { ownRange, othersRangePct } = sensor;
    if (!ownRange) return null;
    const still = ownRange.humidityPct <= stillPct && ownRange.temperatureC <= stillC;
    const others =
      othersRangePct === null
        ? ownRange.humidityPct === 0 && ownRange.temperatureC === 0 && ownRange.readings >= aloneReadings
        : othersRangePct >= movedPct;
    return { over: still && others, quiet: !still };
  },
  severity: 1,
  say: (sensor) => ({
    ...said,
    what: `The sensor has said the same for ${span(sensor.settings['stuck hours'] * 3_600_000)} or more${sensor.othersRangePct === null ? '' : ' while others at its venue moved'}.`,
    why: 'What rests on it is not judged until it moves again.',
    toDo: 'Take its battery out and put it in again; replace it if it stays still.',
    toVenue: 'The sensor in this room seems stuck: please take its battery out and put it in again.',
    evidence: {
      'its own range, %RH': sensor.ownRange?.humidityPct ?? null,
      'its own range, °C': sensor.ownRange?.temperatureC ?? null,
      'range of the others, %RH': sensor.othersRangePct,
    },
  }),
};

const off: SensorRule = {
  name: 'sensor-off',
  durations: afterHours(48, 24),
  measure({ offPct, settings }) {
    if (offPct === null) return null;
    const points = Math.abs(offPct);
    return { over: points > settings['off points'], quiet: points < 0.8 * settings['off points'] };
  },
  severity: 1,
  say: (sensor) => ({
    ...said,
    what: `The sensor stands ${Math.abs(sensor.offPct ?? 0).toFixed(1)}\u00a0points ${(sensor.offPct ?? 0) < 0 ? 'below' : 'above'} its neighbours, on the mean of a week.`,
    why: 'One of them is off; three points too many fake more than a cent.',
    toDo: 'Let both stand side by side over a saturated salt, and enter what they show as a calibration.',
    toVenue: '',
    evidence: { 'difference of the week’s mean, %RH': sensor.offPct },
  }),
};

const batteryLow: SensorRule = {
  name: 'battery-low',
  durations: atOnce,
  measure: ({ batteryPct, settings }) =>
    batteryPct === null
      ? null
      : { over: batteryPct < settings['battery begins'], quiet: batteryPct > settings['battery ends'] },
  severity: 0,
  say: (sensor) => ({
    ...said,
    what: `The battery of the sensor is at ${battery(sensor)}.`,
    why: 'It will fall silent within weeks.',
    toDo: 'Put a new battery in at the next visit.',
    toVenue: 'Please put a new battery into the sensor in this room when you can.',
    evidence: { 'battery, %': sensor.batteryPct },
  }),
};

export const sensorRules: readonly SensorRule[] = [silent, stuck, off, batteryLow];
