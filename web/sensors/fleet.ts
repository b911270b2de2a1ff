/** What stands where, as the sensors page needs it. */
import type { InstrumentSummary, RoomNow, Sensor, Venue } from '../../server/contract/index.ts';

/** All a placement can point at. */
export interface Fleet {
  readonly venues: readonly Venue[];
  readonly rooms: readonly RoomNow[];
  readonly instruments: readonly InstrumentSummary[];
}

/** The clock a sensor's times are said by: its venue's, the reader's own while it has none. */
export function zoneOf(sensor: Sensor, { venues, rooms, instruments }: Fleet): string {
  const { placement } = sensor;
  const venueId =
    placement?.venueId ??
    rooms.find(({ id }) => id === placement?.roomId)?.venueId ??
    instruments.find(({ id }) => id === placement?.instrumentId)?.venueId;
  return (
    venues.find(({ id }) => id === venueId)?.timeZone ?? Intl.DateTimeFormat().resolvedOptions().timeZone
  );
}
