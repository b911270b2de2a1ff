/**
 * The 36 sensors: which air each hangs in, and since when. Most hang in rooms, seven in cases, two outdoors; two are
 * newcomers that nobody has said the place of yet. One was moved.
 */
import { dayMs } from './clock.ts';
import { uuidOf } from './random.ts';

/** The air a sensor hangs in, whether or not anyone has told the service. */
export type Spot =
  | { readonly kind: 'room'; readonly room: string }
  | { readonly kind: 'inside'; readonly instrument: string }
  | { readonly kind: 'outdoors'; readonly venue: string };

export interface Stay {
  readonly spot: Spot;
  readonly fromMs: number;
  /** Infinity: it hangs there still. */
  readonly untilMs: number;
}

export interface SensorRow {
  readonly key: string;
  readonly urn: string;
  readonly venue: string;
  /** In order, without gaps between them. */
  readonly stays: readonly Stay[];
  /** false: a newcomer nobody has placed. */
  readonly placed: boolean;
}

/** When the sensor of Practice room 8 came there from the lecture room, days after the start of the past. */
const movedAfterDays = 62;

export function sensorsOf(
  seed: string,
  startMs: number,
  endMs: number,
  rooms: readonly { readonly key: string; readonly venue: string }[],
): readonly SensorRow[] {
  const goesOn = Number.POSITIVE_INFINITY;
  const rows: SensorRow[] = [];
  const hang = (key: string, venue: string, stays: readonly Stay[], placed = true): void => {
    // A DEV URN (RFC 9039) around an EUI-64 with the bit "locally administered" set, which no maker may use.
    const address = uuidOf(`${seed} address ${key}`).replaceAll('-', '').slice(0, 14);
    rows.push({ key, urn: `urn:dev:mac:02${address}`, venue, stays, placed });
  };
  const moveMs = startMs + movedAfterDays * dayMs;
  for (const room of rooms) {
    const stay: Stay = { spot: { kind: 'room', room: room.key }, fromMs: startMs, untilMs: goesOn };
    if (room.key === 'practice-8') {
      const before: Stay = { spot: { kind: 'room', room: 'lecture' }, fromMs: startMs, untilMs: moveMs };
      hang('practice-8/room', room.venue, [before, { ...stay, fromMs: moveMs }]);
    } else if (room.key === 'lecture') {
      hang('lecture/room', room.venue, [{ ...stay, fromMs: moveMs }]);
    } else {
      hang(`${room.key}/room`, room.venue, [stay]);
    }
  }
  const inside = (instrument: string, venue: string, fromMs = startMs, placed = true): void => {
    const key = `${instrument}/inside`;
    hang(key, venue, [{ spot: { kind: 'inside', instrument }, fromMs, untilMs: goesOn }], placed);
  };
  inside('studio-2-a', 'conservatory');
  inside('studio-4-a', 'conservatory');
  inside('studio-1', 'conservatory');
  inside('auditorium-a', 'hall');
  inside('auditorium-b', 'hall');
  inside('nave', 'church');
  inside('brannoway', 'brannoway');
  for (const venue of ['conservatory', 'church']) {
    hang(`${venue}/outdoors`, venue, [
      { spot: { kind: 'outdoors', venue }, fromMs: startMs, untilMs: goesOn },
    ]);
  }
  inside('practice-6', 'conservatory', endMs - 9.3 * dayMs, false);
  inside('studio-3', 'conservatory', endMs - 1.2 * dayMs, false);
  return rows;
}
