/** Asks the rule about one sensor. A sensor that stands nowhere is nobody's worry. */
import type { Placement, Room, Venue } from '../contract/index.ts';
import type { Database } from '../db/database.ts';
import { type PlacedInstrument, placeOf } from '../registry/instruments.ts';
import type { SensorRow } from '../registry/sensors.ts';
import type { Viewer } from '../registry/viewer.ts';
import { applyDecisions } from './notices.ts';
import { sensorSilent } from './rules/sensor-silent.ts';

export const placementNow = (
  placements: readonly Placement[],
  sensorId: string,
  nowMs: number,
): Placement | null =>
  placements.find(
    (one) =>
      one.sensorId === sensorId && one.fromMs <= nowMs && (one.untilMs === null || one.untilMs > nowMs),
  ) ?? null;

/** Everything a sensor can stand at. */
export interface Spots {
  readonly venues: readonly Venue[];
  readonly rooms: readonly Room[];
  readonly instruments: readonly PlacedInstrument[];
}

/** The venue of a placement, and how a person calls the spot. */
function spotOf(placement: Placement, spots: Spots): { venue: Venue; name: string } | null {
  const instrument = spots.instruments.find((one) => one.id === placement.instrumentId);
  const room = spots.rooms.find((one) => one.id === placement.roomId);
  const venueId = instrument?.venueId ?? room?.venueId ?? placement.venueId;
  const venue = spots.venues.find((one) => one.id === venueId);
  if (!venue) return null;
  if (instrument) return { venue, name: placeOf(instrument) };
  return { venue, name: `${venue.name} · ${room?.name ?? 'outdoors'}` };
}

export async function evaluateSensor(
  db: Database,
  viewer: Viewer,
  sensor: SensorRow,
  placements: readonly Placement[],
  spots: Spots,
  nowMs: number,
): Promise<void> {
  const placement = placementNow(placements, sensor.id, nowMs);
  const spot = placement && spotOf(placement, spots);
  const decisions =
    placement && sensor.last_ms !== null
      ? [
          sensorSilent({
            nowMs,
            timeZone: spot?.venue.timeZone ?? 'UTC',
            lastMs: sensor.last_ms,
            intervalMs: sensor.interval_ms,
            batteryPct: sensor.battery_pct,
          }),
        ]
      : [];
  const subject = {
    id: sensor.id,
    instrumentId: placement?.instrumentId ?? null,
    sensorId: sensor.id,
    venueId: spot?.venue.id ?? null,
    place: spot?.name ?? `sensor ${sensor.urn}`,
  };
  await db
    .transaction()
    .execute((trx) => applyDecisions(trx, viewer, subject, ['sensor-silent'], decisions, nowMs));
}
