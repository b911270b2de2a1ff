/**
 * A room in that weather: air that leaks, a heating season, people, furnishings that buffer, in some rooms a humidifier that is
 * now and then forgotten, holidays with the heating down.
 */
import { humidityFromAbsolutePct } from '../../../server/science/air.ts';
import type { Random } from '../../../server/science/drift/random.ts';
import { stepsPerDay, type Weather, wandering } from './weather.ts';

export interface RoomAir {
  readonly temperatureC: Float64Array;
  readonly humidityPct: Float64Array;
}

export function roomOf(random: Random, weather: Weather): RoomAir {
  const count = weather.temperatureC.length;
  const heatedC = 20 + 2 * random.uniform();
  const isHumidified = random.uniform() < 0.25;
  const heldPct = 36 + 8 * random.uniform();
  const isCooled = random.uniform() < 0.3;
  const coolPct = 55 + 8 * random.uniform();
  const bufferDays = 0.3 + 2.5 * random.uniform();
  const gain = 0.6 + 2 * random.uniform();
  const people = wandering(random, count, 0.35 * gain, 8);
  const habits = wandering(random, count, 0.25 * gain, 60);
  const warmth = wandering(random, count, 0.5, 4);
  const keepHeat = Math.exp(-1 / (1.5 * stepsPerDay));
  const keepVapour = Math.exp(-1 / (bufferDays * stepsPerDay));
  const temperatureC = new Float64Array(count);
  const humidityPct = new Float64Array(count);
  let smoothed = weather.temperatureC[0] ?? 10;
  let vapour = (weather.vapourGm3[0] ?? 6) + gain;
  let forgottenUntil = 0;
  let holidayUntil = 0;
  for (let i = 0; i < count; i++) {
    const outC = weather.temperatureC[i] ?? 10;
    smoothed = outC + (smoothed - outC) * keepHeat;
    if (random.uniform() < 1 / (60 * stepsPerDay))
      forgottenUntil = i + stepsPerDay * (3 + 25 * random.uniform());
    if (random.uniform() < 1 / (120 * stepsPerDay))
      holidayUntil = i + stepsPerDay * (6 + 10 * random.uniform());
    const isAway = i < holidayUntil;
    const setC = heatedC - (isAway ? 4 : 0);
    const free = 0.55 * smoothed + 0.45 * heatedC + 1.5;
    let t = Math.max(setC, free) + (warmth[i] ?? 0);
    if (isCooled) t = Math.min(t, 24.5 + 0.3 * (warmth[i] ?? 0));
    const source = isAway ? 0.2 * gain : Math.max(0.1, gain + (people[i] ?? 0) + (habits[i] ?? 0));
    const asked = (weather.vapourGm3[i] ?? 6) + source;
    vapour = asked + (vapour - asked) * keepVapour;
    let humidity = humidityFromAbsolutePct(t, vapour);
    if (isHumidified && i >= forgottenUntil)
      humidity = Math.max(humidity, heldPct + 0.3 * (humidity - heldPct));
    if (isCooled) humidity = Math.min(humidity, coolPct + 0.35 * (humidity - coolPct));
    temperatureC[i] = t;
    humidityPct[i] = Math.min(92, Math.max(7, humidity));
  }
  return { temperatureC, humidityPct };
}

/** What a sensor says of it: a constant error, some noise, gaps of days and now and then of weeks. */
export function sensed(random: Random, air: RoomAir): RoomAir {
  const count = air.humidityPct.length;
  const humidityError = 1.5 * random.normal();
  const temperatureError = 0.3 * random.normal();
  const temperatureC = new Float64Array(count);
  const humidityPct = new Float64Array(count);
  let silentUntil = 0;
  for (let i = 0; i < count; i++) {
    if (random.uniform() < 1 / (90 * stepsPerDay)) {
      const days = random.uniform() < 0.12 ? 20 + 50 * random.uniform() : 0.5 + 4 * random.uniform();
      silentUntil = i + days * stepsPerDay;
    }
    const isSilent = i < silentUntil;
    temperatureC[i] = isSilent
      ? Number.NaN
      : (air.temperatureC[i] ?? 20) + temperatureError + 0.1 * random.normal();
    humidityPct[i] = isSilent
      ? Number.NaN
      : Math.min(100, Math.max(0, (air.humidityPct[i] ?? 40) + humidityError + 0.5 * random.normal()));
  }
  return { temperatureC, humidityPct };
}
