/**
 * The invented world: one weather, the rooms in it, the pianos in the rooms. It is the same for a seed and an anchor
 * (the end of the seeded past) however far it is run, so the past, a gap filled later and the live readings are one.
 */
import { type Air, roomAir } from './building.ts';
import { dayMs, monthsBefore, settlingDays, stepMs } from './clock.ts';
import { controlWorks, dampOf, type Fault, faultsOf } from './faults.ts';
import { humidityPct, saturationGm3 } from './humid-air.ts';
import { type InstrumentRow, instruments } from './instruments.ts';
import { pianoAir } from './piano-air.ts';
import { type RoomRow, rooms, type VenueRow, venues } from './scenario.ts';
import { type SensorRow, sensorsOf } from './sensors.ts';
import { type Weather, weather } from './weather.ts';

export interface Anchor {
  readonly seed: string;
  /** End of the seeded past, on a whole step. */
  readonly endMs: number;
  readonly months: number;
}

export interface World {
  readonly anchor: Anchor;
  /** First reading. */
  readonly startMs: number;
  /** First step of the simulation, before the start. */
  readonly originMs: number;
  readonly faults: readonly Fault[];
  readonly sensors: readonly SensorRow[];
}

/** The air of one venue: outdoors, of its rooms, and in its pianos, each on the steps from `world.originMs`. */
export interface VenueAir {
  readonly venue: VenueRow;
  readonly outdoors: Air;
  /** By room key. */
  readonly rooms: ReadonlyMap<string, Air>;
  /** By instrument key. */
  readonly inside: ReadonlyMap<string, Air>;
}

export function world(given: Anchor): World {
  const anchor = { ...given, endMs: Math.floor(given.endMs / stepMs) * stepMs };
  const startMs = monthsBefore(anchor.endMs, anchor.months);
  return {
    anchor,
    startMs,
    originMs: startMs - settlingDays * dayMs,
    faults: faultsOf(anchor.endMs),
    sensors: sensorsOf(anchor.seed, startMs, anchor.endMs, rooms),
  };
}

function cooler(general: Weather, kelvin: number): Weather {
  if (kelvin === 0) return general;
  const temperatureC = general.temperatureC.map((t) => t - kelvin);
  const vapourGm3 = general.vapourGm3.map((v, n) => Math.min(v, 0.995 * saturationGm3(temperatureC[n] ?? 0)));
  return { startMs: general.startMs, temperatureC, vapourGm3, sun: general.sun };
}

function asAir(outdoors: Weather): Air {
  const temperatureC = outdoors.temperatureC;
  return {
    temperatureC,
    humidityPct: outdoors.vapourGm3.map((v, n) => humidityPct(v, temperatureC[n] ?? 0)),
  };
}

/**
 * Simulates the world venue by venue, so that memory holds one venue at a time.
 * @param untilMs the steps reach at least this time
 * @param wanted which pianos' inner air is asked for
 */
export function* simulate(
  { anchor, originMs, faults }: World,
  untilMs: number,
  wanted: (row: InstrumentRow) => boolean,
): Generator<VenueAir> {
  const steps = Math.ceil((untilMs - originMs) / stepMs) + 1;
  // A cold dry air mass comes to the end of the past, whatever its season.
  const spell = { fromMs: anchor.endMs - 20 * dayMs, untilMs: anchor.endMs - 8.5 * dayMs, kelvin: 5 };
  const general = weather(anchor.seed, originMs, steps, spell);
  for (const venue of venues) {
    const local = cooler(general, venue.coolerK);
    const ofVenue = rooms.filter((room) => room.venue === venue.key);
    const roomAirs = new Map<string, Air>(
      ofVenue.map((room: RoomRow) => [
        room.key,
        roomAir(`${anchor.seed} ${room.key}`, room.nature, local, dampOf(faults, room.key)),
      ]),
    );
    const inside = new Map<string, Air>();
    for (const row of instruments) {
      const around = roomAirs.get(row.room);
      if (!around || !wanted(row)) continue;
      const control = row.control && { ...row.control, works: controlWorks(faults, row.key) };
      inside.set(row.key, pianoAir(`${anchor.seed} ${row.key}`, around, originMs, control ?? null));
    }
    yield { venue, outdoors: asAir(local), rooms: roomAirs, inside };
  }
}
