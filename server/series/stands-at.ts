/** For which instruments a sensor speaks, or has spoken: they may have been moved since. */
import type { Placement } from '../contract/index.ts';
import type { Database } from '../db/database.ts';
import { instruments, type PlacedInstrument } from '../registry/instruments.ts';
import { stays } from '../registry/moves.ts';
import { placements } from '../registry/sensors.ts';
import { seenBy, type Viewer } from '../registry/viewer.ts';

/** Does a sensor at this place speak for the instrument where it stands now? */
export const standsAt = (instrument: PlacedInstrument, where: Placement): boolean =>
  where.instrumentId === instrument.id || where.roomId === instrument.roomId;

/** @param spots placements of the sensors, of now and of the past */
export async function hearersAt(
  db: Database,
  viewer: Viewer,
  spots: readonly Placement[],
): Promise<PlacedInstrument[]> {
  const moved = await db
    .selectFrom('move')
    .$call(seenBy(viewer, 'move'))
    .select('instrument_id')
    .distinct()
    .execute();
  const hasMoved = new Set(moved.map(({ instrument_id }) => instrument_id));
  const found: PlacedInstrument[] = [];
  for (const one of await instruments(db, viewer)) {
    const stood = hasMoved.has(one.id)
      ? (await stays(db, viewer, one)).some(({ roomId }) => spots.some((spot) => spot.roomId === roomId))
      : false;
    if (stood || spots.some((spot) => standsAt(one, spot))) found.push(one);
  }
  return found;
}

/** The same of sensors, wherever they stood. */
export async function hearersOf(
  db: Database,
  viewer: Viewer,
  sensorIds: ReadonlySet<string>,
): Promise<PlacedInstrument[]> {
  const spots = (await placements(db, viewer)).filter((one) => sensorIds.has(one.sensorId));
  return hearersAt(db, viewer, spots);
}
