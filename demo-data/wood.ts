/**
 * How wet is the wood, in truth? Built otherwise than the service builds it, on purpose: no layers and no diffusion
 * here, but three bodies of wood with time constants of their own behind a sorption curve that remembers which way the
 * air came.
 *
 * - thin parts (bridge cap, pin line): under a day
 * - the board behind its finish: days to weeks, quicker when wet than when dry
 * - bridge body, rim, pinblock: weeks
 */

/**
 * Moisture at equilibrium, % of dry mass, 3-95 %RH and -20 to 40 °C: the sorption curve of Oswin (1946),
 * a (φ/(1-φ))^b, with a and b set to the spruce values 25 % → 5.3, 42 % → 8, 65 % → 12, 80 % → 16 at 21 °C
 * (Wood Handbook table by way of common practice), and the table's fall of some 0.2 % of itself for each kelvin.
 */
export function sorptionPct(temperatureC: number, humidityPct: number): number {
  const share = Math.min(95, Math.max(3, humidityPct)) / 100;
  return 9.15 * (1 - 0.0022 * (temperatureC - 21)) * (share / (1 - share)) ** 0.44;
}

/**
 * Sorption hysteresis as a sum of plays (the operator of Krasnosel'skii and Pokrovskii 1983, from memory): each
 * play follows only once the air has moved beyond its slack. Widths are chosen for a loop about 1 %MC wide at 50 %RH;
 * published loops are 1 to 4 % (TräGuiden), a board's minor ones at the low end of it.
 */
const free = 0.4;
const plays = [
  { slackPct: 3, share: 0.3 },
  { slackPct: 7, share: 0.3 },
] as const;

export interface WoodNature {
  /** Time constant of the board behind its finish on the way to 9 %MC, hours. */
  readonly boardHours: number;
}

export interface Wood {
  readonly felt: number[];
  thinPct: number;
  boardPct: number;
  bodyPct: number;
}

const thinHours = 16;
const bodyHours = 45 * 24;

/** Wood long at rest in this air. */
export function woodAt(temperatureC: number, humidityPct: number): Wood {
  const pct = sorptionPct(temperatureC, humidityPct);
  return { felt: plays.map(() => humidityPct), thinPct: pct, boardPct: pct, bodyPct: pct };
}

/** Lets the wood stand in this air for some hours (one, usually). */
export function advanceWood(
  wood: Wood,
  nature: WoodNature,
  temperatureC: number,
  humidityPct: number,
  hours: number,
): void {
  let remembered = free * humidityPct;
  for (let k = 0; k < plays.length; k += 1) {
    const play = plays[k];
    if (!play) continue;
    const felt = Math.min(
      humidityPct + play.slackPct,
      Math.max(humidityPct - play.slackPct, wood.felt[k] ?? humidityPct),
    );
    wood.felt[k] = felt;
    remembered += play.share * felt;
  }
  const goal = sorptionPct(temperatureC, remembered);
  wood.thinPct += (goal - wood.thinPct) * (1 - Math.exp(-hours / thinHours));
  // Diffusion in wood speeds up with its moisture (Siau 1984, from memory), and what must be crossed is the layer
  // under the surface, which is near its goal already: so wetting outruns drying.
  const boardHours = nature.boardHours * Math.exp(-0.07 * (goal - 9));
  wood.boardPct += (goal - wood.boardPct) * (1 - Math.exp(-hours / boardHours));
  wood.bodyPct += (goal - wood.bodyPct) * (1 - Math.exp(-hours / bodyHours));
}

/** What of the moisture the strings feel: a quarter at once, most with the board, the rest with the case. */
export function feltMoisturePct(wood: Wood): number {
  return 0.25 * wood.thinPct + 0.63 * wood.boardPct + 0.12 * wood.bodyPct;
}
