/**
 * What is it like outdoors? An invented inland place at 48° north: warm humid summers, frosty winters, weeks of one
 * kind of weather, lows passing every few days, and cold fronts that bring drier air within hours.
 */

import { dayMs, localTime, stepHours, stepMs } from './clock.ts';
import { saturationGm3 } from './humid-air.ts';
import { chance } from './random.ts';
import { wander } from './wander.ts';

export interface Weather {
  /** Time of the first step; each array holds one value for every step of ten minutes from there. */
  readonly startMs: number;
  readonly temperatureC: Float64Array;
  readonly vapourGm3: Float64Array;
  /** Sun on a south window, 0 to about 1. */
  readonly sun: Float64Array;
}

/** A spell of cold dry air that comes to the scenario whatever its weather, days before its end. */
export interface ColdSpell {
  readonly fromMs: number;
  readonly untilMs: number;
  readonly kelvin: number;
}

const latitude = (48 * Math.PI) / 180;

/** Height of the sun over the horizon, as its sine. Declination by Cooper's formula (1969), from memory. */
function sunHeight(season: number, hour: number): number {
  const declination = 0.4093 * Math.sin(2 * Math.PI * (season + 284 / 365));
  const hourAngle = ((hour - 12) * Math.PI) / 12;
  return (
    Math.sin(latitude) * Math.sin(declination) +
    Math.cos(latitude) * Math.cos(declination) * Math.cos(hourAngle)
  );
}

/** Cold fronts: none for days, then a fall of some kelvin within three hours that takes days to even out. */
function fronts(label: string): () => number {
  const stream = chance(label);
  const perStep = stepHours / (6 * 24);
  const recovery = Math.exp(-stepHours / 60);
  const arrival = stepHours / 3;
  let still = 0;
  let fall = 0;
  return () => {
    const comes = stream.uniform() < perStep;
    const size = 3 + 5 * stream.uniform();
    if (comes) still += size;
    fall = fall * recovery + still * arrival;
    still *= 1 - arrival;
    return fall;
  };
}

/** How far a spell has set in, 0 to 1, over a day at each end. */
function within(spell: ColdSpell, timeMs: number): number {
  const edge = Math.min(timeMs - spell.fromMs, spell.untilMs - timeMs) / dayMs;
  return Math.min(1, Math.max(0, edge));
}

/** @param steps how many steps of ten minutes from `startMs`; a longer run begins with exactly the shorter one. */
export function weather(seed: string, startMs: number, steps: number, spell: ColdSpell): Weather {
  const weeks = wander(`${seed} weather weeks`, 1.9, 14 * 24);
  const lows = wander(`${seed} weather lows`, 2.6, 56);
  const clouds = wander(`${seed} weather clouds`, 1, 30);
  const dryness = wander(`${seed} weather dryness`, 1, 48);
  const front = fronts(`${seed} weather fronts`);
  const temperatureC = new Float64Array(steps);
  const vapourGm3 = new Float64Array(steps);
  const sun = new Float64Array(steps);
  for (let n = 0; n < steps; n += 1) {
    const timeMs = startMs + n * stepMs;
    const { season, hour } = localTime(timeMs);
    /** 1 in mid July, -1 in mid January. */
    const summer = Math.cos(2 * Math.PI * (season - 0.545));
    const clear = 1 / (1 + Math.exp(-1.6 * clouds() - 0.4 * summer));
    const behindFront = front();
    const cold = spell.kelvin * within(spell, timeMs);
    const airMassC = 9 + 10 * summer + weeks() + lows() - behindFront + 1.6 - cold;
    // Clear days swing wider and clear winter nights colder.
    const swing = (1.2 + (2.6 + 2 * summer) * clear) * Math.cos(((hour - 15) * Math.PI) / 12);
    const t = airMassC + swing - 2.2 * clear * Math.max(0, -summer);
    const depression = Math.max(
      0.4,
      2.6 + 3.2 * (summer + 1) * clear + 1.3 * dryness() + 0.35 * behindFront + 0.3 * cold,
    );
    temperatureC[n] = t;
    // Fog and dew keep the air at or below saturation.
    vapourGm3[n] = Math.min(saturationGm3(airMassC - depression), 0.995 * saturationGm3(t));
    const height = sunHeight(season, hour);
    sun[n] = height > 0 ? clear * Math.min(1, 0.25 + height) * Math.min(1, height / 0.1) : 0;
  }
  return { startMs, temperatureC, vapourGm3, sun };
}
