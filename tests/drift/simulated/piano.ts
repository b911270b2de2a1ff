/**
 * How a simulated piano truly moves. On purpose not the model's way: three time constants instead of one, friction at the bridge
 * that holds part of the movement back, a response that is not quite straight, temperature and ageing of its own, settling
 * after every correction, strings that creep for a year, and heavy tails.
 */

import { meanSquare, type Random } from '../../../server/science/drift/random.ts';
import { type Instrument, type Register, registers } from '../../../server/science/drift/registers.ts';
import { equilibriumMoisturePct } from '../../../server/science/wood.ts';
import type { RoomAir } from './room.ts';
import { unisonsOf } from './unisons.ts';
import { stepsPerDay } from './weather.ts';

/** Middle of a grand's response in cents per %MC; every fleet then has its own factors, every instrument too. */
const typical: Record<Register, number> = { bass: 1.8, tenor: 6, middle: 3.1, treble: 2.4, top: 1.2 };
const mainLagDays = { bare: 2, lacquer: 4, varnish: 5, shellac: 6, polyurethane: 11 };

export interface Piano {
  readonly instrument: Instrument;
  /** Cents by register against time, every step: moisture part alone, from an arbitrary zero. */
  readonly moistureCents: Readonly<Record<Register, Float64Array>>;
  readonly temperaturePerK: Readonly<Record<Register, number>>;
  readonly ageingPerYear: number;
  readonly settlingShare: number;
  readonly creepCents: number;
  readonly creepYears: number;
  /** Effective moisture that strings feel, for the unisons. */
  readonly feltPct: Float64Array;
  readonly unisons: ReturnType<typeof unisonsOf>;
}

export type FleetFactors = Readonly<Record<Register, number>>;

export function fleetFactors(random: Random): FleetFactors {
  const common = 0.2 * random.normal();
  return Object.fromEntries(
    registers.map((register) => [register, Math.exp(common + 0.2 * random.normal())]),
  ) as FleetFactors;
}

/** Student's t with three degrees of freedom, of unit scale: one value in seventy lies beyond four. */
export function heavy(random: Random): number {
  return random.normal() / Math.sqrt(meanSquare(random, 3));
}

/** Holds still until pushed further than its play to one side. */
function withPlay(course: Float64Array, play: number): Float64Array {
  const out = new Float64Array(course.length);
  let held = course[0] ?? 0;
  course.forEach((value, i) => {
    if (value > held + play) held = value - play;
    else if (value < held - play) held = value + play;
    out[i] = held;
  });
  return out;
}

function lagged(course: Float64Array, days: number): Float64Array {
  const out = new Float64Array(course.length);
  const keep = Math.exp(-1 / (days * stepsPerDay));
  let value = course.slice(0, 40 * stepsPerDay).reduce((sum, v) => sum + v, 0) / (40 * stepsPerDay);
  course.forEach((asked, i) => {
    value = asked + (value - asked) * keep;
    out[i] = value;
  });
  return out;
}

export function pianoOf(random: Random, instrument: Instrument, air: RoomAir, fleet: FleetFactors): Piano {
  const sorption = 1 + 0.05 * random.normal();
  const asked = Float64Array.from(
    air.humidityPct,
    (humidity, i) => sorption * equilibriumMoisturePct(air.temperatureC[i] ?? 20, humidity),
  );
  const fast = lagged(asked, 0.6);
  const main = lagged(asked, mainLagDays[instrument.finish ?? 'lacquer'] * Math.exp(0.3 * random.normal()));
  const slow = lagged(asked, 30 + 30 * random.uniform());
  const shares = { fast: 0.15 + 0.15 * random.uniform(), slow: 0.05 + 0.15 * random.uniform() };
  const felt = asked.map(
    (_, i) =>
      shares.fast * (fast[i] ?? 0) +
      shares.slow * (slow[i] ?? 0) +
      (1 - shares.fast - shares.slow) * (main[i] ?? 0),
  );
  const play = withPlay(felt, 0.1 + 0.25 * random.uniform());
  const bend = 0.04 * random.normal();
  const effective = felt.map((value, i) => {
    const m = 0.6 * value + 0.4 * (play[i] ?? 0);
    return m + bend * (m - 8) ** 2 * 0.5;
  });
  const common = 0.3 * random.normal();
  const upright = instrument.kind === 'upright' ? { tenor: 1.35, other: 1.05 } : { tenor: 1, other: 1 };
  const moistureCents = Object.fromEntries(
    registers.map((register) => {
      const slope =
        typical[register] *
        fleet[register] *
        (register === 'tenor' ? upright.tenor : upright.other) *
        Math.exp(common + 0.2 * random.normal());
      return [register, effective.map((m) => slope * m)];
    }),
  ) as Record<Register, Float64Array>;
  return {
    instrument,
    moistureCents,
    temperaturePerK: Object.fromEntries(
      registers.map((register) => [register, (register === 'tenor' ? -0.25 : -0.35) + 0.1 * random.normal()]),
    ) as Record<Register, number>,
    ageingPerYear: -1.8 + 0.8 * random.normal(),
    settlingShare: 0.03 + 0.07 * random.uniform(),
    creepCents: 15 + 25 * random.uniform(),
    creepYears: 0.3 + 0.3 * random.uniform(),
    feltPct: felt,
    unisons: unisonsOf(random, 1.2 * Math.exp(0.5 * random.normal())),
  };
}
