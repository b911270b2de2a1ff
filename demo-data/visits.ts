/** The visits of one instrument: the truth is run through its months, and read, tuned and written down on the way. */
import { type PitchTaken, type Register, registers, type VisitBody } from '../server/contract/index.ts';
import type { Air } from './building.ts';
import { dayMs, localTime, stepMs } from './clock.ts';
import { noted } from './findings.ts';
import type { InstrumentRow } from './instruments.ts';
import { pianoNature } from './piano-nature.ts';
import { type Chance, chance, uuidOf } from './random.ts';
import { technician } from './scenario.ts';
import {
  advanceStrings,
  playForADay,
  restring,
  type Standing,
  type Strings,
  standing,
  stringsAt,
  tune,
} from './strings.ts';
import { advanceWood, feltMoisturePct, woodAt } from './wood.ts';
import type { World } from './world.ts';

export type SeedVisit = VisitBody & { readonly id: string };

const stepsPerHour = 3_600_000 / stepMs;
const standardHz = 440;

/** A working hour of that day, or of the Friday before where it is a weekend. */
function visitTime(endMs: number, daysAgo: number, draw: Chance): number {
  const { day, weekday } = localTime(endMs - daysAgo * dayMs);
  const working = day - Math.max(0, weekday - 4);
  const hour = 9 + Math.floor(12 * 7 * draw.uniform()) / 12;
  return working * dayMs + Math.round((hour - 1) * 12) * 300_000;
}

const tenth = (value: number): number => Math.round(value * 10) / 10;
const nothing = { a4: null, bass: null, tenor: null, middle: null, treble: null, top: null };

/** Reading a register is good to some 0.3 cents, an A4 in Hz to 0.1 Hz; common practice, no source. */
function pitchTaken(at: Standing, a4Only: boolean, draw: Chance): PitchTaken {
  const read = (register: Register): number => at.registers[register] + 0.3 * draw.normal();
  if (a4Only) {
    const hz = standardHz * 2 ** (read('middle') / 1200);
    return { ...nothing, a4: { unit: 'Hz', value: tenth(hz) } };
  }
  const taken: PitchTaken = { ...nothing };
  for (const register of registers) taken[register] = { unit: 'cents', value: tenth(read(register)) };
  return taken;
}

/** Practice rooms are left a little sharp in summer, since heating will take it back. Common practice, no source. */
function wantedCents(row: InstrumentRow, timeMs: number): number {
  const { season } = localTime(timeMs);
  return row.use === 'practice' && season > 0.53 && season < 0.7 ? 3 : 0;
}

interface Planned {
  readonly atMs: number;
  readonly index: number;
  readonly restrung: boolean;
}

function planned(world: World, row: InstrumentRow, draw: Chance): Planned[] {
  return row.tuned
    .map((daysAgo, index) => ({
      atMs: visitTime(world.anchor.endMs, daysAgo, draw),
      index,
      restrung: daysAgo === row.restrung,
    }))
    .filter((visit) => visit.atMs > world.startMs);
}

function makeVisit(
  world: World,
  row: InstrumentRow,
  instrumentId: string,
  visit: Planned,
  strings: Strings,
  air: { temperatureC: number; humidityPct: number },
  draw: Chance,
): SeedVisit {
  const last = visit.index === row.tuned.length - 1;
  const a4Only = row.use === 'home' && (!last || row.key === 'ellinbrae');
  const found = standing(strings);
  const asFound = pitchTaken(found, a4Only, draw);
  if (visit.restrung) restring(strings);
  const target = wantedCents(row, visit.atMs);
  tune(strings, target);
  const left = standing(strings);
  const own = noted.find((one) => one.instrument === row.key && one.visit === visit.index);
  const raise = Math.abs(found.registers.middle - target);
  return {
    id: uuidOf(`${world.anchor.seed} ${world.anchor.endMs} visit ${row.key} ${visit.index}`),
    instrumentId,
    atMs: visit.atMs,
    by: technician,
    conditions: {
      humidityPct: draw.uniform() < 0.9 ? Math.round(air.humidityPct + 1.3 * draw.normal()) : null,
      temperatureC: Math.round(2 * (air.temperatureC + 0.3 * draw.normal())) / 2,
    },
    asFound,
    asLeft: pitchTaken(left, a4Only, draw),
    unisonsFoundCents: draw.uniform() < 0.75 ? tenth(found.spread) : null,
    unisonsLeftCents: draw.uniform() < 0.6 ? tenth(left.spread) : null,
    stringWork: visit.restrung,
    minutes: 5 * Math.round((visit.restrung ? 900 : 75 + 3 * raise + 10 * draw.uniform()) / 5),
    note:
      own?.note ??
      (visit.restrung
        ? 'Restrung in plain wire from the tenor up; will need tuning often for some months.'
        : target > 0
          ? 'Left 3 cents sharp: the board will dry once heating begins.'
          : ''),
    findings: [...(own?.findings ?? [])],
    corrects: null,
  };
}

/** @param room, inside the air around and in the case, from the world's origin at least to the end of the past. */
export function visitsOf(
  world: World,
  row: InstrumentRow,
  instrumentId: string,
  room: Air,
  inside: Air,
): SeedVisit[] {
  const label = `${world.anchor.seed} ${row.key}`;
  const draw = chance(`${label} visits`);
  const nature = pianoNature(world.anchor.seed, row);
  const plan = planned(world, row, draw);
  const { temperatureC, humidityPct } = inside;
  const wood = woodAt(temperatureC[0] ?? 20, humidityPct[0] ?? 45);
  const strings = stringsAt(
    label,
    nature,
    feltMoisturePct(wood),
    temperatureC[0] ?? 20,
    4 * draw.normal() - 3,
  );
  const visits: SeedVisit[] = [];
  for (let n = 0; n < humidityPct.length; n += stepsPerHour) {
    const air = { temperatureC: temperatureC[n] ?? 20, humidityPct: humidityPct[n] ?? 45 };
    const around = room.humidityPct[n] ?? air.humidityPct;
    const felt = air.humidityPct + nature.roomShare * (around - air.humidityPct);
    advanceWood(wood, nature.wood, air.temperatureC, felt, 1);
    advanceStrings(strings, feltMoisturePct(wood), air.temperatureC);
    const hour = n / stepsPerHour;
    if (hour % 24 === 0) playForADay(strings);
    const next = plan[visits.length];
    if (next && world.originMs + n * stepMs >= next.atMs) {
      visits.push(makeVisit(world, row, instrumentId, next, strings, air, draw));
      if (visits.length === plan.length) break;
    }
  }
  return visits;
}
