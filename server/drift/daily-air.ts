/** The air at an instrument day by day, and what is known of how it goes on: what forecasts are drawn from. */
import { setImmediate as breathe } from 'node:timers/promises';
import { instruments, type PlacedInstrument } from '../registry/instruments.ts';
import { sensorsAt } from '../registry/sensors.ts';
import type { Viewer } from '../registry/viewer.ts';
import { type DailyAir, type RoomClimate, roomClimate } from '../science/drift/index.ts';
import type { BoardDeps } from '../series/board.ts';
import { dayMs } from '../series/board-run.ts';
import { type AirSeries, type ClimateSources, climateOf, climateSources } from '../series/climate.ts';

/** Seasons are learned from so many years; what lies further back says little of this heating. */
const pastYears = 3;
const fullYearDays = 365;

const startOf = (nowMs: number): number => Math.floor(nowMs / dayMs) * dayMs;

/** Mean of what the two faces of a board see; one face stands for both where it is alone. */
function both(room: AirSeries | null, inside: AirSeries | null, quantity: keyof AirSeries, length: number) {
  return Array.from({ length }, (_, i) => {
    const known = [room?.[quantity][i], inside?.[quantity][i]].filter(
      (one) => one !== null && one !== undefined,
    );
    return known.length === 0 ? null : known.reduce((sum, one) => sum + one, 0) / known.length;
  });
}

/** Whole days up to now. */
export async function dailyAirOf(
  { store }: BoardDeps,
  viewer: Viewer,
  sources: ClimateSources,
  nowMs: number,
): Promise<DailyAir> {
  const toMs = startOf(nowMs);
  const fromMs = toMs - pastYears * fullYearDays * dayMs;
  const days = await climateOf(store, viewer, sources, fromMs, toMs, dayMs);
  const humidityPct = both(days.room, days.inside, 'humidityPct', days.length);
  const temperatureC = both(days.room, days.inside, 'temperatureC', days.length);
  const first = Math.max(
    0,
    humidityPct.findIndex((one) => one !== null),
  );
  return {
    startMs: fromMs + first * dayMs,
    humidityPct: humidityPct.slice(first),
    temperatureC: temperatureC.slice(first),
  };
}

const known = (air: DailyAir): number => Array.from(air.humidityPct).filter((one) => one !== null).length;

/** How the climate at an instrument goes on: from its own past or, where that is short, from poorer sources, named. */
export async function climateAhead(
  deps: BoardDeps,
  viewer: Viewer,
  instrument: PlacedInstrument,
  own: DailyAir,
  nowMs: number,
): Promise<RoomClimate> {
  if (known(own) >= fullYearDays) return roomClimate({ own });
  const others = (await instruments(deps.db, viewer)).filter((one) => one.roomId !== instrument.roomId);
  const venueRooms: RoomClimate[] = [];
  const fleetRooms: RoomClimate[] = [];
  for (const other of onePerRoom(others)) {
    // Each room's year is read and fitted: others get their turn between two of them.
    await breathe();
    const air = await dailyAirOf(deps, viewer, await climateSources(deps.db, viewer, other), nowMs);
    if (known(air) < fullYearDays) continue;
    (other.venueId === instrument.venueId ? venueRooms : fleetRooms).push(roomClimate({ own: air }));
  }
  const outdoor = await outdoorAir(deps, viewer, instrument.venueId, nowMs);
  return roomClimate({ own, venueRooms, fleetRooms, outdoor });
}

const onePerRoom = (all: readonly PlacedInstrument[]): PlacedInstrument[] => [
  ...new Map(all.map((one) => [one.roomId, one])).values(),
];

async function outdoorAir(
  deps: BoardDeps,
  viewer: Viewer,
  venueId: string,
  nowMs: number,
): Promise<DailyAir | null> {
  const room = await sensorsAt(deps.db, viewer, { venueId });
  if (room.length === 0) return null;
  const air = await dailyAirOf(deps, viewer, { room, inside: [] }, nowMs);
  return known(air) === 0 ? null : air;
}
