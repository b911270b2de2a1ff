/** A simulated fleet: rooms, pianos, and some years of visits, with what the technician wrote down and what the sensors said. */

import type { AirSeries } from '../../../server/science/drift/board-lag.ts';
import type { PitchVisit } from '../../../server/science/drift/observations-of.ts';
import { type Random, seededRandom } from '../../../server/science/drift/random.ts';
import {
  type Finish,
  type Instrument,
  type Register,
  registers,
} from '../../../server/science/drift/registers.ts';
import { type FleetFactors, fleetFactors, heavy, type Piano, pianoOf } from './piano.ts';
import { type RoomAir, roomOf, sensed } from './room.ts';
import { spreadRead } from './unisons.ts';
import { climates, stepMs, stepsPerDay, weatherOf } from './weather.ts';

export const startMs = Date.UTC(2031, 0, 1);
const years = 3.3;
const stepsPerYear = 365.25 * stepsPerDay;

export interface SimulatedVisit extends PitchVisit {
  /** What a hand-held instrument said of the humidity at that moment (%RH). */
  readonly spotHumidityPct: number;
  /** 90th percentile of the unisons sampled (cents), or a word, or neither. */
  readonly spread:
    | { readonly cents: number; readonly sampled: number }
    | { readonly word: SpreadWord }
    | null;
}

type SpreadWord = 'clean' | 'slow beat' | 'sour';

export interface SimulatedInstrument {
  readonly instrument: Instrument;
  readonly air: AirSeries;
  readonly visits: readonly SimulatedVisit[];
}

const finishes: readonly Finish[] = ['lacquer', 'varnish', 'varnish', 'shellac', 'polyurethane', 'bare'];

export function simulatedFleet(seed: number, size: number): SimulatedInstrument[] {
  const random = seededRandom(seed);
  const climate = climates[Math.floor(random.uniform() * climates.length)] ?? {
    meanC: 9,
    annualC: 10,
    humidityPct: 75,
  };
  const weather = weatherOf(random, climate, Math.ceil(years * 366));
  const factors = fleetFactors(random);
  const fleet = { temperature: 0.1 * random.normal(), ageing: 0.5 * random.normal() };
  const perRoom = 1 + Math.floor(random.uniform() * 3);
  let room: RoomAir = roomOf(random, weather);
  return Array.from({ length: size }, (_, i) => {
    if (i % perRoom === 0) room = roomOf(random, weather);
    return simulatedInstrument(random, `i${String(i).padStart(3, '0')}`, room, factors, fleet);
  });
}

function simulatedInstrument(
  random: Random,
  id: string,
  room: RoomAir,
  factors: FleetFactors,
  fleet: { temperature: number; ageing: number },
): SimulatedInstrument {
  const finish = finishes[Math.floor(random.uniform() * finishes.length)] ?? 'lacquer';
  const instrument: Instrument = {
    id,
    kind: random.uniform() < 0.45 ? 'grand' : 'upright',
    finish: random.uniform() < 0.25 ? null : finish,
  };
  const piano = pianoOf(random, { ...instrument, finish }, room, factors);
  const air = sensed(random, room);
  return {
    instrument,
    air: { startMs, stepMs, temperatureC: air.temperatureC, humidityPct: air.humidityPct },
    visits: visitsOf(random, piano, room, fleet),
  };
}

function visitsOf(
  random: Random,
  piano: Piano,
  room: RoomAir,
  fleet: { temperature: number; ageing: number },
): SimulatedVisit[] {
  const count = 3 + Math.floor(random.uniform() * 4);
  const visits: SimulatedVisit[] = [];
  let at = Math.floor(stepsPerDay * (70 + 200 * random.uniform()));
  let leftAt = at;
  let left: Partial<Record<Register, number>> = {};
  let correction = 0;
  let strungAt: number | null = null;
  for (let i = 0; i < count && at < room.humidityPct.length - 1; i++) {
    const bump = 0.5 * heavy(random);
    const temperature = room.temperatureC[at] ?? 20;
    const onlyA4 = i > 0 && random.uniform() < 0.12;
    const truth: Partial<Record<Register, number>> = {};
    for (const register of registers) {
      const course = piano.moistureCents[register];
      const passed = (at - leftAt) / stepsPerYear;
      const creep =
        strungAt === null
          ? 0
          : piano.creepCents *
            (Math.exp(-(leftAt - strungAt) / stepsPerYear / piano.creepYears) -
              Math.exp(-(at - strungAt) / stepsPerYear / piano.creepYears));
      truth[register] =
        i === 0
          ? -8 + 8 * random.normal()
          : (left[register] ?? 0) +
            (course[at] ?? 0) -
            (course[leftAt] ?? 0) +
            (piano.temperaturePerK[register] + fleet.temperature) *
              (temperature - (room.temperatureC[leftAt] ?? 20)) +
            (piano.ageingPerYear + fleet.ageing) * passed -
            piano.settlingShare * correction * (1 - Math.exp(-(passed * 365.25) / 25)) -
            creep +
            bump +
            0.6 * heavy(random);
    }
    const asFound: Partial<Record<Register, number>> = {};
    for (const register of registers) {
      if (onlyA4 && register !== 'middle') continue;
      if (!onlyA4 && register !== 'middle' && random.uniform() < 0.06) continue;
      asFound[register] = (truth[register] ?? 0) + (onlyA4 ? 0.8 : 0.4) * random.normal();
    }
    const left_ = Object.fromEntries(registers.map((register) => [register, 0.35 * random.normal()]));
    const stringWork = i > 0 && random.uniform() < 0.025;
    visits.push({
      atMs: startMs + at * stepMs,
      asFound,
      asLeft: left_,
      onlyA4,
      temperatureC: temperature + 0.4 * random.normal(),
      stringWork,
      spotHumidityPct: Math.min(
        95,
        Math.max(5, (room.humidityPct[at] ?? 40) + 2.5 * random.normal() + 1.5 * random.normal()),
      ),
      spread: i === 0 ? null : spreadOf(random, piano, leftAt, at),
    });
    correction = registers.reduce((sum, register) => sum - (truth[register] ?? 0), 0) / registers.length;
    // The string is left where the technician heard it, within a reading.
    left = Object.fromEntries(
      registers.map((register) => [register, (left_[register] ?? 0) + 0.3 * random.normal()]),
    );
    leftAt = at;
    if (stringWork) strungAt = at;
    at += Math.floor(
      stepsPerDay * (random.uniform() < 0.6 ? 182 + 25 * random.normal() : 70 + 250 * random.uniform()),
    );
    at = Math.max(at, leftAt + 20 * stepsPerDay);
  }
  return visits;
}

function wordFor(cents: number): SpreadWord {
  return cents <= 1.3 ? 'clean' : cents <= 3.3 ? 'slow beat' : 'sour';
}

function spreadOf(random: Random, piano: Piano, from: number, to: number): SimulatedVisit['spread'] {
  const sampled = 6 + Math.floor(7 * random.uniform());
  const cents = spreadRead(random, piano.unisons, piano.feltPct, from, to, stepsPerYear, sampled);
  const how = random.uniform();
  if (how < 0.15) return null;
  if (how < 0.35) return { word: wordFor(cents * Math.exp(0.2 * random.normal())) };
  return { cents: Math.max(0.1, cents * Math.exp(0.1 * random.normal())), sampled };
}
