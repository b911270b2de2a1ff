/**
 * A closed volume of air that trades moisture with the air around it and with the porous things in it. A room is
 * one such box inside the weather, a piano's case another inside the room.
 *
 * dv/dt = n (v_around - v) + g + β v_sat (φ_buffer - φ),   dφ_buffer/dt = (φ - φ_buffer) / τ
 * Source for the balance: ISO 13788:2012 (air change and moisture production); the buffer as in the first-order
 * models of hygroscopic surfaces (Rode et al., NORDTEST 2005; from memory).
 */
import { stepHours } from './clock.ts';
import { saturationGm3 } from './humid-air.ts';

export interface MoistureBox {
  vapourGm3: number;
  /** Relative humidity in the air at the surfaces of what stores moisture, 0 to 1. */
  buffer: number;
  /** The box's own relative humidity, %. */
  humidityPct: number;
}

export interface Trade {
  readonly bufferPerHour: number;
  readonly bufferHours: number;
}

/** Holds a relative humidity between two set points as far as it can. */
export interface Conditioning {
  /** NaN: it does not humidify. */
  humidifyBelowPct: number;
  humidifyGm3h: number;
  /** NaN: it does not dry. */
  dryAbovePct: number;
  dryGm3h: number;
}

export function boxAt(humidityPct: number, temperatureC: number): MoistureBox {
  return {
    vapourGm3: (humidityPct / 100) * saturationGm3(temperatureC),
    buffer: humidityPct / 100,
    humidityPct,
  };
}

/**
 * Advances a box by one step, implicitly, so that no rate can make it overshoot.
 * @param sourceGm3h moisture set free in it, g per m³ and hour
 */
export function advanceBox(
  box: MoistureBox,
  trade: Trade,
  aroundGm3: number,
  airChangesPerHour: number,
  temperatureC: number,
  sourceGm3h: number,
  conditioning: Conditioning | null,
): void {
  const saturation = saturationGm3(temperatureC);
  const coming = airChangesPerHour * aroundGm3 + sourceGm3h + trade.bufferPerHour * saturation * box.buffer;
  let vapour =
    (box.vapourGm3 + stepHours * coming) / (1 + stepHours * (airChangesPerHour + trade.bufferPerHour));
  if (conditioning) {
    const wanted = (conditioning.humidifyBelowPct / 100) * saturation - vapour;
    if (wanted > 0) vapour += Math.min(wanted, conditioning.humidifyGm3h * stepHours);
    const surplus = vapour - (conditioning.dryAbovePct / 100) * saturation;
    if (surplus > 0) vapour -= Math.min(surplus, conditioning.dryGm3h * stepHours);
  }
  // What the air cannot hold runs down the coldest wall.
  vapour = Math.min(vapour, 0.99 * saturation);
  box.vapourGm3 = vapour;
  const share = vapour / saturation;
  box.buffer += (share - box.buffer) * (1 - Math.exp(-stepHours / trade.bufferHours));
  box.humidityPct = 100 * share;
}
