/**
 * The course of an instrument, hour by hour: what the rules about air and board look back on, kept small. A fold over
 * hours, so that all at once, hour by hour, and again from yesterday's state come to the same.
 */
import type { RuleName } from '../contract/index.ts';
import {
  type Air,
  advanceMould,
  advancePlate,
  dewPointC,
  type MouldState,
  NO_MOULD,
} from '../science/index.ts';
import { dayOf } from '../series/board-run.ts';
import { hourMs } from '../series/climate.ts';
import type { Condition } from './condition.ts';
import { type Pinblock, takeDay, unknownPinblock } from './pinblock.ts';

/** Hours of humidity kept: two weeks, the longest look back of a rule about air. */
export const airHours = 336;
/** Hours of humidity without spikes kept: a week. */
export const calmHours = 168;
/** Marks an hour nobody measured; no humidity is below zero. */
const gap = -1;

export interface Course {
  /** End of the last hour taken in. */
  readonly atMs: number;
  /** Humidity at the piano in hundredths of a percent, newest last. */
  readonly air: Int16Array;
  /** The same as medians of five hours, two hours behind: spikes under three hours leave no trace. */
  readonly calm: Int16Array;
  readonly temperatureC: number | null;
  readonly plateC: number | null;
  /** Plate less dew point, K. */
  readonly marginK: number | null;
  readonly mould: MouldState;
  readonly pinblock: Pinblock;
  /** Mean of the soundboard and of its own past, %; null before its board is known. */
  readonly moisturePct: number | null;
  readonly referencePct: number | null;
  readonly conditions: Readonly<Partial<Record<RuleName, Condition>>>;
}

/** An hour of air at the piano, and the board at its end. */
export interface Hour {
  readonly air: Air;
  readonly moisturePct: number | null;
  readonly referencePct: number | null;
}

export const beginCourse = (atMs: number): Course => ({
  atMs,
  air: new Int16Array(airHours).fill(gap),
  calm: new Int16Array(calmHours).fill(gap),
  temperatureC: null,
  plateC: null,
  marginK: null,
  mould: NO_MOULD,
  pinblock: unknownPinblock(),
  moisturePct: null,
  referencePct: null,
  conditions: {},
});

/**
 * The values an hour later. They lie on a tape with room for a day, of which a course sees a stretch: the next hour is
 * written behind it and the stretch moves on, so that an hour of a fleet copies nothing. The first number of a tape says
 * how far it is written: where somebody else already went on from here, a new tape begins.
 */
function shifted(values: Int16Array, next: number): Int16Array {
  const { length } = values;
  const tape = new Int16Array(values.buffer);
  const end = values.byteOffset / 2 + length;
  if (tape.length === tapeLength(length) && tape[0] === end && end < tape.length) {
    tape[end] = next;
    tape[0] = end + 1;
    return tape.subarray(end + 1 - length, end + 1);
  }
  const fresh = new Int16Array(tapeLength(length));
  fresh.set(values.subarray(1), 1);
  fresh[length] = next;
  fresh[0] = length + 1;
  return fresh.subarray(1, length + 1);
}

const tapeLength = (length: number): number => 1 + length + 24;

const five = new Int16Array(5);

function medianOfLastFive(air: Int16Array): number {
  let known = 0;
  for (let i = air.length - 5; i < air.length; i++) {
    const value = air[i] ?? gap;
    if (value === gap) continue;
    let at = known;
    for (; at > 0 && (five[at - 1] ?? 0) > value; at--) five[at] = five[at - 1] ?? 0;
    five[at] = value;
    known += 1;
  }
  return known < 3 ? gap : (five[known >> 1] ?? gap);
}

/** The course an hour later, its conditions not yet asked. */
export function takeHour(course: Course, { air, moisturePct, referencePct }: Hour): Course {
  const measured = air.humidityPct !== null && air.temperatureC !== null;
  const humidity = shifted(course.air, measured ? Math.round((air.humidityPct ?? 0) * 100) : gap);
  const plateC = advancePlate(course.plateC, air.temperatureC);
  const dewC = measured ? dewPointC(air.temperatureC, air.humidityPct) : null;
  const atMs = course.atMs + hourMs;
  return {
    atMs,
    air: humidity,
    calm: shifted(course.calm, medianOfLastFive(humidity)),
    temperatureC: air.temperatureC,
    plateC,
    marginK: plateC === null || dewC === null ? null : plateC - dewC,
    mould: advanceMould(course.mould, air),
    pinblock:
      dayOf(atMs) === dayOf(course.atMs)
        ? course.pinblock
        : takeDay(course.pinblock, {
            humidityPct: meanOf(humidity, 24),
            temperatureC: air.temperatureC ?? course.temperatureC,
          }),
    moisturePct,
    referencePct,
    conditions: course.conditions,
  };
}

/** Was the last hour measured? A rule about air says nothing of one that was not. */
export const isMeasured = (course: Course): boolean => (course.air[airHours - 1] ?? gap) !== gap;

/** Mean humidity over the last hours, %; null where less than half of them were measured. */
export const meanOver = ({ air }: Course, hours: number): number | null => meanOf(air, hours);

function meanOf(air: Int16Array, hours: number): number | null {
  let [sum, count] = [0, 0];
  for (let i = air.length - hours; i < air.length; i++) {
    const value = air[i] ?? gap;
    if (value === gap) continue;
    sum += value;
    count += 1;
  }
  return count < hours / 2 ? null : sum / count / 100;
}

/** Least and greatest humidity over the last hours, spikes ignored; null where a quarter of them is not known. */
export function rangeOver({ calm }: Course, hours: number): { low: number; high: number } | null {
  let [low, high, count] = [Number.POSITIVE_INFINITY, Number.NEGATIVE_INFINITY, 0];
  for (let i = calm.length - hours; i < calm.length; i++) {
    const value = calm[i] ?? gap;
    if (value === gap) continue;
    if (value < low) low = value;
    if (value > high) high = value;
    count += 1;
  }
  return count < hours / 4 ? null : { low: low / 100, high: high / 100 };
}

/** Hours of the last so many in which the humidity was above a limit. */
export function hoursAbove({ air }: Course, hours: number, limitPct: number): number {
  let count = 0;
  for (let i = air.length - hours; i < air.length; i++) if ((air[i] ?? gap) > limitPct * 100) count += 1;
  return count;
}
