/**
 * What is the air in the case like, where the soundboard lives? It follows the room with a lag of hours, evened out
 * by the wood itself; a humidity control humidifies from a tank below and dries by a little warmth.
 */
import type { Air } from './building.ts';
import { stepHours, stepMs } from './clock.ts';
import { saturationGm3 } from './humid-air.ts';
import { advanceBox, boxAt, type Conditioning } from './moisture-box.ts';
import { wander } from './wander.ts';

/** Humidity control fitted in the piano, as nature knows it. */
export interface Control {
  readonly setPct: number;
  /** What it can give off into the case, g per m³ and hour; 1 is worth some 14 points at 20 °C. */
  readonly humidifyGm3h: number;
  /** How far its warmth can lift the case's temperature, K; 1 K is worth some 3 points. */
  readonly warmthK: number;
  /** Does it humidify, dry, at this time? An empty tank, a pulled plug. */
  readonly works: (timeMs: number) => { readonly humidifies: boolean; readonly dries: boolean };
}

/** Air changes of a case with its lid down, per hour; no source, chosen to lag by hours. */
const caseAirChanges = 0.45;
const caseTrade = { bufferPerHour: 0.55, bufferHours: 36 };
const caseThermalHours = 1.6;

/** @returns the air in the case for every step of the room's. */
export function pianoAir(label: string, room: Air, startMs: number, control: Control | null): Air {
  const steps = room.temperatureC.length;
  const temperatureC = new Float64Array(steps);
  const humidityPct = new Float64Array(steps);
  const follow = 1 - Math.exp(-stepHours / caseThermalHours);
  const hygrostat = wander(`${label} control`, 0.9, 30, 3);
  let t = room.temperatureC[0] ?? 20;
  const box = boxAt(room.humidityPct[0] ?? 45, t);
  const conditioning: Conditioning = {
    humidifyBelowPct: Number.NaN,
    humidifyGm3h: control?.humidifyGm3h ?? 0,
    dryAbovePct: Number.NaN,
    dryGm3h: 0,
  };
  for (let n = 0; n < steps; n += 1) {
    const roomC = room.temperatureC[n] ?? 20;
    const aroundGm3 = ((room.humidityPct[n] ?? 45) / 100) * saturationGm3(roomC);
    let warmth = 0;
    if (control) {
      const { humidifies, dries } = control.works(startMs + n * stepMs);
      const setPct = control.setPct + hygrostat();
      conditioning.humidifyBelowPct = humidifies ? setPct - 1 : Number.NaN;
      // The rod's thermostat closes over some five points above its set point.
      if (dries) warmth = control.warmthK * Math.min(1, Math.max(0, (box.humidityPct - setPct) / 5));
    }
    t += (roomC + warmth - t) * follow;
    advanceBox(box, caseTrade, aroundGm3, caseAirChanges, t, 0, conditioning);
    temperatureC[n] = t;
    humidityPct[n] = box.humidityPct;
  }
  return { temperatureC, humidityPct };
}
