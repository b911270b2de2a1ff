/** Steps that no air can make: a sensor that was exchanged, moved or wetted. Found before anything is concluded from its level. */

export interface SensorStep {
  readonly index: number;
  /** By how much it stands higher since (%RH). */
  readonly byPct: number;
}

/** Air in a case needs hours to follow the room; a step within one reading, of this size at least, is the sensor's. */
const leastPct = 1.8;
const scales = 8;

/**
 * @param inside readings on an even grid of at most three hours; NaN in gaps
 * @param room the room's on the same grid: what both do is the air's doing
 */
export function sensorSteps(inside: Float64Array, room: Float64Array): SensorStep[] {
  const changes: number[] = [];
  for (let i = 1; i < inside.length; i++) {
    const change = Math.abs((inside[i] as number) - (inside[i - 1] as number));
    if (!Number.isNaN(change)) changes.push(change);
  }
  if (changes.length < 100) return [];
  changes.sort((a, b) => a - b);
  const usual = 1.4826 * (changes[changes.length >> 1] as number);
  const least = Math.max(leastPct, scales * usual);
  const steps: SensorStep[] = [];
  for (let i = 3; i < inside.length - 3; i++) {
    const jump = (inside[i] as number) - (inside[i - 1] as number);
    if (!(Math.abs(jump) >= least)) continue;
    const byPct = meanOf(inside, i, i + 3) - meanOf(inside, i - 3, i);
    const roomMoved = meanOf(room, i, i + 3) - meanOf(room, i - 3, i);
    // A spike comes back; a step stays. Of a draught the room knows too.
    if (Math.abs(byPct) < 0.6 * Math.abs(jump) || Math.sign(byPct) !== Math.sign(jump)) continue;
    if (Math.abs(roomMoved) > 0.5 * Math.abs(byPct)) continue;
    steps.push({ index: i, byPct });
    i += 3;
  }
  return steps;
}

function meanOf(values: Float64Array, from: number, to: number): number {
  let sum = 0;
  let known = 0;
  for (let i = from; i < to; i++) {
    const value = values[i] as number;
    if (Number.isNaN(value)) continue;
    sum += value;
    known++;
  }
  return known === 0 ? Number.NaN : sum / known;
}
