/** Everything the service is told about the scenario, before any reading: what stands where, and what visits found. */
import type { SeedRecords } from '../server/seed.ts';
import { eventsOf } from './events.ts';
import { instruments } from './instruments.ts';
import { uuidOf } from './random.ts';
import { gatewayName, rooms, venues } from './scenario.ts';
import { heardBetween } from './sensor-course.ts';
import type { SensorRow, Stay } from './sensors.ts';
import { type SeedVisit, visitsOf } from './visits.ts';
import { simulate, type World } from './world.ts';

/** A slip of the pen in one visit's unison spread, set right by a second one, as people do. */
const correctedInstrument = 'green-room';

function withCorrection(visits: readonly SeedVisit[], seed: string): SeedVisit[] {
  const [, right] = visits;
  if (!right) return [...visits];
  const wrong = { ...right, unisonsLeftCents: 14, note: '' };
  const correction = {
    ...right,
    id: uuidOf(`${seed} correction of ${right.id}`),
    unisonsLeftCents: 1.4,
    note: 'Unison spread was written as 14, it was 1.4.',
    corrects: right.id,
  };
  return [...visits.slice(0, 1), wrong, correction, ...visits.slice(2)];
}

export function records(world: World): SeedRecords {
  const { seed, endMs } = world.anchor;
  const idOf = (kind: string, key: string): string => uuidOf(`${seed} ${kind} ${key}`);
  const known = (sensor: SensorRow): boolean => sensor.placed;

  const placement = (sensor: SensorRow, stay: Stay) => ({
    id: idOf('placement', `${sensor.key} ${stay.fromMs}`),
    urn: sensor.urn,
    spot: stay.spot.kind,
    roomId: stay.spot.kind === 'room' ? idOf('room', stay.spot.room) : null,
    instrumentId: stay.spot.kind === 'inside' ? idOf('instrument', stay.spot.instrument) : null,
    venueId: stay.spot.kind === 'outdoors' ? idOf('venue', stay.spot.venue) : null,
    fromMs: stay.fromMs,
    untilMs: Number.isFinite(stay.untilMs) ? stay.untilMs : null,
  });

  const visits: SeedVisit[] = [];
  for (const air of simulate(world, endMs, () => true)) {
    for (const row of instruments) {
      const room = air.rooms.get(row.room);
      const inside = air.inside.get(row.key);
      if (!room || !inside) continue;
      const own = visitsOf(world, row, idOf('instrument', row.key), room, inside);
      visits.push(...(row.key === correctedInstrument ? withCorrection(own, seed) : own));
    }
  }

  return {
    gateway: gatewayName,
    venues: venues.map((venue) => ({
      id: idOf('venue', venue.key),
      name: venue.name,
      timeZone: venue.timeZone,
      wayMinutes: venue.wayMinutes,
    })),
    rooms: rooms.map((room) => ({
      id: idOf('room', room.key),
      venueId: idOf('venue', room.venue),
      name: room.name,
      volumeM3: room.nature.volumeM3,
      airChangesPerHour: room.nature.airChangesPerHour,
      wishedLowPct: room.wished[0],
      wishedHighPct: room.wished[1],
      glazing: room.glazing,
      humidifier: room.humidifier,
    })),
    instruments: instruments.map((row, index) => ({
      id: idOf('instrument', row.key),
      roomId: idOf('room', row.room),
      name: `${row.kind === 'grand' ? 'Grand' : 'Upright'} ${row.sizeCm} cm`,
      kind: row.kind,
      sizeCm: row.sizeCm,
      year: row.year,
      serial: `demo-${String(1001 + 37 * index)}`,
      pitchStandardHz: 440,
      use: row.use,
      board: row.board,
      remarks: row.remarks,
    })),
    sensors: world.sensors.map((sensor) => ({
      urn: sensor.urn,
      ...heardBetween(world, sensor, endMs),
    })),
    placements: world.sensors
      .filter(known)
      .flatMap((sensor) => sensor.stays.map((stay) => placement(sensor, stay))),
    visits,
    events: eventsOf(world, idOf),
    humidityControls: instruments.flatMap((row) =>
      row.control
        ? {
            id: idOf('humidity control', row.key),
            instrumentId: idOf('instrument', row.key),
            kind: 'both' as const,
            setPct: row.control.setPct,
            sinceMs: world.startMs,
            untilMs: null,
          }
        : [],
    ),
  };
}
