/**
 * What is the air of a room like? One thermal mass that loses heat outdoors and gains it from the sun, people and a
 * heater with a clock; one moisture box in the weather. Heating dries: the same water in warmer air.
 */
import { localTime, stepHours, stepMs } from './clock.ts';
import { advanceBox, boxAt, type Conditioning, type Trade } from './moisture-box.ts';
import { type Habit, people, waterPerPersonGh } from './people.ts';
import { wander } from './wander.ts';
import type { Weather } from './weather.ts';

/** A room as nature knows it; the service is never told more than its volume, air changes and wished band. */
export interface RoomNature {
  readonly volumeM3: number;
  readonly airChangesPerHour: number;
  /** Time constant of the room's temperature without heating, hours. */
  readonly envelopeHours: number;
  readonly heating: { readonly dayC: number; readonly nightC: number; readonly kelvinPerHour: number } | null;
  readonly sunKelvinPerHour: number;
  /** Lamps, pipes, neighbours. */
  readonly gainKelvinPerHour: number;
  readonly habit: Habit;
  /** Cooking, plants, washing: g per m³ and hour. */
  readonly moistureGm3h: number;
  readonly trade: Trade;
  readonly conditioning: Conditioning | null;
  /** A fan that blows outdoor air in between these hours. */
  readonly fan: {
    readonly fromHour: number;
    readonly untilHour: number;
    readonly airChangesPerHour: number;
  } | null;
  /** Cooled above this, where there is cooling. */
  readonly coolAboveC: number | null;
}

export interface Air {
  readonly temperatureC: Float64Array;
  readonly humidityPct: Float64Array;
}

/** Windows are opened when it is too warm inside and cooler out, and never in winter for that reason. */
function windowsOpen(insideC: number, outsideC: number, nature: RoomNature): number {
  if (nature.coolAboveC !== null || outsideC > insideC || outsideC < 9) return 0;
  return Math.min(1.2, Math.max(0, (insideC - 23) * 0.6));
}

/** Doors and windows are opened for the people inside; about 7 litres a second for each (from memory, EN 16798-1). */
const freshAirPerPersonM3h = 25;

/** @returns the air of the room for every step of the weather. */
export function roomAir(
  label: string,
  nature: RoomNature,
  outdoors: Weather,
  dampGm3h: (timeMs: number) => number,
): Air {
  const steps = outdoors.temperatureC.length;
  const temperatureC = new Float64Array(steps);
  const humidityPct = new Float64Array(steps);
  const present = people(`${label} people`, nature.habit);
  const thermostat = wander(`${label} thermostat`, 0.25, 30, 6);
  const hygrostat = wander(`${label} hygrostat`, 1.1, 40, 6);
  const draught = wander(`${label} draught`, 0.25, 8, 3);
  const conditioning = nature.conditioning && { ...nature.conditioning };
  let t = Math.max(nature.heating?.dayC ?? -20, outdoors.temperatureC[0] ?? 10);
  const box = boxAt(45, t);
  for (let n = 0; n < steps; n += 1) {
    const timeMs = outdoors.startMs + n * stepMs;
    const { hour } = localTime(timeMs);
    const outsideC = outdoors.temperatureC[n] ?? 0;
    const persons = present(timeMs);
    const open = windowsOpen(t, outsideC, nature);
    const fan = nature.fan && hour >= nature.fan.fromHour && hour < nature.fan.untilHour ? nature.fan : null;
    const exchange =
      nature.airChangesPerHour * Math.exp(draught()) +
      open +
      (freshAirPerPersonM3h * persons) / nature.volumeM3 +
      (fan ? fan.airChangesPerHour : 0);
    // Furnishings and walls store some twenty times what the air does, so air coming in cools slowly.
    const loss = 1 / nature.envelopeHours + 0.05 * (open + (fan ? 0.3 * fan.airChangesPerHour : 0));
    t +=
      stepHours *
      (loss * (outsideC - t) +
        nature.sunKelvinPerHour * (outdoors.sun[n] ?? 0) +
        (2.2 * persons) / nature.volumeM3 +
        nature.gainKelvinPerHour);
    if (nature.heating) {
      const wanted = (hour >= 6 && hour < 22 ? nature.heating.dayC : nature.heating.nightC) + thermostat();
      if (t < wanted) t = Math.min(wanted, t + nature.heating.kelvinPerHour * stepHours);
    }
    if (nature.coolAboveC !== null && t > nature.coolAboveC) t = Math.max(nature.coolAboveC, t - stepHours);
    if (conditioning && nature.conditioning) {
      const off = hygrostat();
      conditioning.humidifyBelowPct = nature.conditioning.humidifyBelowPct + off;
      conditioning.dryAbovePct = nature.conditioning.dryAbovePct + off;
    }
    const source = nature.moistureGm3h + dampGm3h(timeMs) + (waterPerPersonGh * persons) / nature.volumeM3;
    advanceBox(box, nature.trade, outdoors.vapourGm3[n] ?? 0, exchange, t, source, conditioning);
    temperatureC[n] = t;
    humidityPct[n] = box.humidityPct;
  }
  return { temperatureC, humidityPct };
}
