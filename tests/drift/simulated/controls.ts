/**
 * Histories of humidity controls in weather-driven rooms: hour by hour for two years, with tanks that run dry now and then, sensors
 * that are exchanged, gaps, and in one winter or spring the plug pulled.
 */

import type { ControlKind, HumiditySeries } from '../../../server/science/drift/index.ts';
import { type Random, seededRandom } from '../../../server/science/drift/random.ts';
import { roomOf } from './room.ts';
import { climates, stepsPerDay, weatherOf } from './weather.ts';

const startMs = Date.UTC(2031, 6, 1);
const hourMs = 3_600_000;
const days = 730;

export interface ControlHistory {
  readonly kind: ControlKind;
  readonly setPointPct: number;
  readonly inside: HumiditySeries;
  readonly room: HumiditySeries;
  /** Day on which the plug was pulled, for good; null where no dry month offered itself. */
  readonly unpluggedDay: number | null;
  /** Days on which the control was truly without effect for another reason: a tank run dry. */
  readonly dryDays: readonly { readonly from: number; readonly to: number }[];
  /** Mean distance of the room below the set point over the month after the plug was pulled (%RH). */
  readonly monthGapPct: number;
}

export function controlHistory(seed: number): ControlHistory {
  const random = seededRandom(seed);
  const climate = climates[Math.floor(random.uniform() * climates.length)] ?? {
    meanC: 9,
    annualC: 10,
    humidityPct: 75,
  };
  const room = hourly(
    roomOf(random, weatherOf(random, climate, days + 190)).humidityPct.subarray(181 * stepsPerDay),
    days,
  );
  const kind: ControlKind = random.uniform() < 0.5 ? 'humidify' : 'both';
  const setPointPct = 40 + 8 * random.uniform();
  const dryDays = tankRuns(random);
  const unpluggedDay = dryMonth(random, room, setPointPct, dryDays);
  const inside = insideOf(random, room, kind, setPointPct, dryDays, unpluggedDay);
  return {
    kind,
    setPointPct,
    unpluggedDay,
    dryDays,
    monthGapPct:
      unpluggedDay === null ? 0 : setPointPct - meanOf(room, unpluggedDay * 24, (unpluggedDay + 30) * 24),
    inside: { startMs, stepMs: hourMs, humidityPct: read(random, inside, true) },
    room: { startMs, stepMs: hourMs, humidityPct: read(random, room, false) },
  };
}

function hourly(sixHourly: Float64Array, count: number): Float64Array {
  return Float64Array.from({ length: count * 24 }, (_, h) => {
    const i = Math.floor(h / 6);
    const share = (h % 6) / 6;
    return (sixHourly[i] ?? 40) * (1 - share) + (sixHourly[i + 1] ?? 40) * share;
  });
}

/** A tank lasts some weeks and is mostly filled in time; now and then it stands dry for some days. */
function tankRuns(random: Random): { from: number; to: number }[] {
  const runs: { from: number; to: number }[] = [];
  for (let day = 20; day < days; ) {
    day += 20 + Math.floor(25 * random.uniform());
    if (random.uniform() < 0.12) {
      const to = day + 2 + Math.floor(9 * random.uniform());
      runs.push({ from: day, to });
      day = to;
    }
  }
  return runs;
}

function dryMonth(
  random: Random,
  room: Float64Array,
  setPointPct: number,
  dryDays: readonly { from: number; to: number }[],
): number | null {
  const candidates: number[] = [];
  for (let day = 200; day < days - 40; day++) {
    const isClear = dryDays.every(({ from, to }) => to < day - 15 || from > day + 30);
    if (isClear && meanOf(room, day * 24, (day + 30) * 24) < setPointPct - 8) candidates.push(day);
  }
  return candidates[Math.floor(random.uniform() * candidates.length)] ?? null;
}

function insideOf(
  random: Random,
  room: Float64Array,
  kind: ControlKind,
  setPointPct: number,
  dryDays: readonly { from: number; to: number }[],
  unpluggedDay: number | null,
): Float64Array {
  const dryShare = 0.1 + 0.3 * random.uniform();
  const wetShare = kind === 'both' ? 0.25 + 0.35 * random.uniform() : 0.9;
  const caseHours = 6 + 24 * random.uniform();
  // The wood in the case gives back for days what it took up.
  const woodShare = 0.2 + 0.2 * random.uniform();
  const woodHours = 24 * (2 + 4 * random.uniform());
  const offset = 1.5 * random.normal();
  const keepWander = Math.exp(-1 / 60);
  const kick = (0.8 + 0.8 * random.uniform()) * Math.sqrt(1 - keepWander ** 2);
  let wander = 0;
  let air = setPointPct;
  let wood = setPointPct;
  return Float64Array.from(room, (humidity, h) => {
    const day = h / 24;
    const isOff = unpluggedDay !== null && day >= unpluggedDay;
    const isDry = dryDays.some(({ from, to }) => day >= from && day < to);
    wander = keepWander * wander + kick * random.normal();
    const x = humidity - setPointPct;
    const works = !isOff && (x > 0 ? kind === 'both' : !isDry);
    const target = works
      ? setPointPct + offset + (x < 0 ? dryShare : wetShare) * x + wander
      : humidity + 0.4 * wander;
    wood += (target - wood) / woodHours;
    air += ((1 - woodShare) * target + woodShare * wood - air) / caseHours;
    return air;
  });
}

/** A sensor's word: noise, gaps, and (inside, about once a year) another sensor with another error. */
function read(random: Random, truth: Float64Array, isExchanged: boolean): Float64Array {
  let error = 1.2 * random.normal();
  let silentUntil = 0;
  return Float64Array.from(truth, (value, h) => {
    if (isExchanged && random.uniform() < 1 / 8760)
      error += (2 + 3 * random.uniform()) * (random.uniform() < 0.5 ? -1 : 1);
    if (random.uniform() < 1 / (60 * 24)) silentUntil = h + 24 * (0.3 + 5 * random.uniform());
    if (h < silentUntil) return Number.NaN;
    return Math.min(100, Math.max(0, value + error + 0.3 * random.normal()));
  });
}

function meanOf(values: Float64Array, from: number, to: number): number {
  let sum = 0;
  for (let i = from; i < to; i++) sum += values[i] ?? 0;
  return sum / (to - from);
}
