/**
 * Where do the strings stand, in truth? Each register has six unisons; each string follows the wood by a measure of
 * its own and sticks at the bridge until friction lets it slip, so unisons spread as the whole moves and do not quite
 * come back. Warmth slackens wire before it reaches the plate, wire is unsettled by playing, and new wire creeps.
 */
import { type Register, registers } from '../server/contract/index.ts';
import type { PianoNature } from './piano-nature.ts';
import { type Chance, chance } from './random.ts';

const unisonsPerRegister = 6;

/** Standing of a piano's strings, cents from its own standard. */
export interface Standing {
  readonly registers: Readonly<Record<Register, number>>;
  /** 90th percentile of the spread within unisons. */
  readonly spread: number;
}

interface StringState {
  /** How it answers beside the register's own measure. */
  readonly answer: number;
  /** Friction at the bridge, cents it can hold back. */
  readonly slack: number;
  follows: number;
  /** Where the tuner has put it, less all that has slipped since. */
  set: number;
}

interface RegisterState {
  readonly register: Register;
  readonly unisons: readonly (readonly StringState[])[];
  /** Settling still to come after a raise, and creep of new wire; cents. */
  settling: number;
  creep: number;
}

export interface Strings {
  readonly nature: PianoNature;
  readonly states: readonly RegisterState[];
  readonly draw: Chance;
  readonly restPct: number;
  plateC: number;
}

const settlingHours = 4 * 24;
const creepHours = 38 * 24;
const plateHours = 9;
/** Whole piano, slowly: -0.36 cents a kelvin, the tenor a little less. Common practice, no source. */
const slowCentsPerK = -0.36;
/** Wire warmer than plate, cents a kelvin; from the expansion of steel at the strings' strain (computed, trade table). */
const quickCentsPerK: Record<Register, number> = {
  bass: -2.6,
  tenor: -4.8,
  middle: -2.1,
  treble: -2,
  top: -1.8,
};

/** @param moisturePct what the strings feel of the wood at the start, where they stand as `flat` cents off. */
export function stringsAt(
  label: string,
  nature: PianoNature,
  moisturePct: number,
  temperatureC: number,
  offCents: number,
): Strings {
  const draw = chance(`${label} strings`);
  const states = registers.map((register): RegisterState => {
    const unisons = Array.from({ length: unisonsPerRegister }, () => {
      const count = register === 'bass' ? 2 : 3;
      const note = Math.exp(0.1 * draw.normal());
      return Array.from({ length: count }, (_, place): StringState => {
        // The right-hand string moves farthest, and a season parts a unison by cents; common practice, no source.
        const answer = note * (1 + 0.11 * (place - (count - 1) / 2) + 0.07 * draw.normal());
        return {
          answer,
          slack: 0.3 + 1.5 * draw.uniform(),
          follows: 0,
          set: offCents + 1.2 * draw.normal(),
        };
      });
    });
    return { register, unisons, settling: 0, creep: 0 };
  });
  return { nature, states, draw, restPct: moisturePct, plateC: temperatureC };
}

/** Lets an hour pass over the strings. */
export function advanceStrings(strings: Strings, moisturePct: number, temperatureC: number): void {
  strings.plateC += (temperatureC - strings.plateC) * (1 - Math.exp(-1 / plateHours));
  const ageing = strings.nature.ageingCentsPerYear / 8766;
  for (const state of strings.states) {
    const pull =
      strings.nature.centsPerPct[state.register] * (moisturePct - strings.restPct) +
      slowCentsPerK * (strings.plateC - 20) * (state.register === 'tenor' ? 0.7 : 1) +
      quickCentsPerK[state.register] * (temperatureC - strings.plateC);
    const settled = state.settling * (1 - Math.exp(-1 / settlingHours));
    const crept = state.creep * (1 - Math.exp(-1 / creepHours));
    state.settling -= settled;
    state.creep -= crept;
    const falls = ageing + settled + crept;
    for (const unison of state.unisons) {
      for (const string of unison) {
        const goal = string.answer * pull;
        string.follows = Math.min(goal + string.slack, Math.max(goal - string.slack, string.follows));
        string.set -= falls;
      }
    }
  }
}

/** A day's playing. */
export function playForADay(strings: Strings): void {
  const step = strings.nature.wornCents * Math.sqrt(1 / 365.25);
  for (const state of strings.states) {
    for (const unison of state.unisons)
      for (const string of unison) string.set += step * strings.draw.normal();
  }
}

/** Tunes every string to a target, as well as people can; a raise sags a little afterwards. */
export function tune(strings: Strings, targetCents: number): void {
  for (const state of strings.states) {
    const raise = targetCents - median(state.unisons.map(unisonCents));
    state.settling = 0.07 * raise;
    const off = 0.25 * strings.draw.normal();
    for (const unison of state.unisons) {
      for (const string of unison)
        string.set = targetCents + off + 0.2 * strings.draw.normal() - string.follows;
    }
  }
}

/** New plain wire from the tenor up, at pitch today and creeping for months. */
export function restring(strings: Strings): void {
  for (const state of strings.states) {
    if (state.register !== 'bass') state.creep = 24 + 8 * strings.draw.uniform();
  }
}

const cents = (string: StringState): number => string.set + string.follows;

function unisonCents(unison: readonly StringState[]): number {
  return unison.reduce((sum, string) => sum + cents(string), 0) / unison.length;
}

function median(values: readonly number[]): number {
  const sorted = [...values].sort((a, b) => a - b);
  const middle = sorted.length / 2;
  return ((sorted[Math.ceil(middle) - 1] ?? 0) + (sorted[Math.floor(middle)] ?? 0)) / 2;
}

export function standing(strings: Strings): Standing {
  const offsets: Record<Register, number> = { bass: 0, tenor: 0, middle: 0, treble: 0, top: 0 };
  const spreads: number[] = [];
  for (const state of strings.states) {
    offsets[state.register] = median(state.unisons.map(unisonCents));
    for (const unison of state.unisons) {
      const each = unison.map(cents);
      spreads.push(Math.max(...each) - Math.min(...each));
    }
  }
  spreads.sort((a, b) => a - b);
  return { registers: offsets, spread: spreads[Math.ceil(0.9 * spreads.length) - 1] ?? 0 };
}
