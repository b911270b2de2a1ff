/** Shapes the service's columns for drawing: gaps where a sensor was silent, a held board apart from a known one. */
import type { Climate, Pitch, Register } from '../../server/contract/index.ts';
import { inUnit } from '../words/temperature.ts';

export type Column = (number | null)[];
export type AirQuantity = 'humidityPct' | 'temperatureC';

/** x ascending and unique, as the chart library wants it; the service promises it, a page that trusts it blindly draws nonsense. */
export function ascending(timesMs: readonly number[]): boolean {
  return timesMs.every((timeMs, i) => i === 0 || timeMs > (timesMs[i - 1] ?? Number.NEGATIVE_INFINITY));
}

function airColumn(air: Climate['room'], quantity: AirQuantity, length: number): Column {
  if (!air) return Array<null>(length).fill(null);
  return quantity === 'humidityPct'
    ? air.humidityPct
    : air.temperatureC.map((value) => (value === null ? null : inUnit(value)));
}

/** [times, room, inside] */
export function airColumns(climate: Climate, quantity: AirQuantity): [number[], Column, Column] {
  const length = climate.timesMs.length;
  return [
    climate.timesMs,
    airColumn(climate.room, quantity, length),
    airColumn(climate.inside, quantity, length),
  ];
}

/** [times, known, held]: where the air was unknown for long the last profile is held, and drawn as a broken line. */
export function boardColumns({ timesMs, board }: Climate): [number[], Column, Column] {
  const { moisturePct, uncertain } = board;
  const known = moisturePct.map((value, i) => (uncertain[i] ? null : value));
  const held = moisturePct.map((value, i) =>
    // The broken line begins and ends on the known one, so that the two meet.
    uncertain[i] || uncertain[i - 1] || uncertain[i + 1] ? value : null,
  );
  return [timesMs, known, held];
}

/** Standard deviations either way that hold eight of ten of a normal variable. */
export const eightOfTen = 1.2816;

/** [times, lower, offset, upper] of one register: offset with the band that holds eight of ten. */
export function pitchColumns({ course }: Pitch, register: Register): [number[], Column, Column, Column] {
  const found = course.registers.find((r) => r.register === register);
  const empty: Column = Array<null>(course.timesMs.length).fill(null);
  if (!found) return [course.timesMs, empty, empty, empty];
  const shifted = (by: number) =>
    found.offsetCents.map((offset, i) => {
      const sd = found.sdCents[i] ?? null;
      return offset === null || sd === null ? null : offset + by * sd;
    });
  return [course.timesMs, shifted(-eightOfTen), found.offsetCents, shifted(eightOfTen)];
}

/** Least and greatest value of columns; null where all is empty. */
export function extent(...columns: readonly Column[]): [number, number] | null {
  let least = Number.POSITIVE_INFINITY;
  let most = Number.NEGATIVE_INFINITY;
  for (const column of columns) {
    for (const value of column) {
      if (value === null) continue;
      if (value < least) least = value;
      if (value > most) most = value;
    }
  }
  return least <= most ? [least, most] : null;
}

/** The value in a column nearest in time, within `withinMs`; null in a gap. */
export function valueAt(
  timesMs: readonly number[],
  column: Column,
  timeMs: number,
  withinMs: number,
): number | null {
  let low = 0;
  let high = timesMs.length - 1;
  while (low < high) {
    const middle = (low + high) >> 1;
    if ((timesMs[middle] ?? 0) < timeMs) low = middle + 1;
    else high = middle;
  }
  const before = low - 1;
  const near = Math.abs((timesMs[before] ?? Number.NEGATIVE_INFINITY) - timeMs);
  const index = near < Math.abs((timesMs[low] ?? Number.POSITIVE_INFINITY) - timeMs) ? before : low;
  if (Math.abs((timesMs[index] ?? Number.POSITIVE_INFINITY) - timeMs) > withinMs) return null;
  return column[index] ?? null;
}
