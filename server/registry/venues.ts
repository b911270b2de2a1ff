import { glazings, type Room, type Venue } from '../contract/index.ts';
import type { Database } from '../db/database.ts';
import { mustBeKnown } from './known.ts';
import { putOwned } from './put-owned.ts';
import { Contradiction, NotFound, seenBy, type Viewer } from './viewer.ts';

export async function venues(db: Database, viewer: Viewer): Promise<Venue[]> {
  const rows = await db
    .selectFrom('venue')
    .$call(seenBy(viewer, 'venue'))
    .select(['id', 'name', 'time_zone as timeZone', 'way_minutes as wayMinutes'])
    .orderBy('name')
    .execute();
  return rows;
}

/** Creates or changes a venue; the id is the caller's. */
export async function putVenue(db: Database, viewer: Viewer, venue: Venue): Promise<Venue> {
  await putOwned(db, viewer, 'venue', {
    id: venue.id,
    name: venue.name,
    time_zone: venue.timeZone,
    way_minutes: venue.wayMinutes ?? null,
  });
  return venue;
}

export async function rooms(db: Database, viewer: Viewer): Promise<(Room & { venueName: string })[]> {
  const rows = await db
    .selectFrom('room')
    .innerJoin('venue', 'venue.id', 'room.venue_id')
    .$call(seenBy(viewer, 'room'))
    .select([
      'room.id as id',
      'room.venue_id as venueId',
      'room.name as name',
      'room.volume_m3 as volumeM3',
      'room.air_changes_per_hour as airChangesPerHour',
      'room.wished_low_pct as wishedLowPct',
      'room.wished_high_pct as wishedHighPct',
      'room.glazing as glazing',
      'room.humidifier as humidifier',
      'room.borrows_room_id as borrowsRoomId',
      'venue.name as venueName',
    ])
    .orderBy('venue.name')
    .orderBy('room.name')
    .execute();
  return rows.map((row) => ({
    ...row,
    glazing: glazings.find((one) => one === row.glazing) ?? null,
    humidifier: row.humidifier === null ? null : row.humidifier === 1,
  }));
}

/** @throws NotFound when the venue or the room it borrows from is not the viewer's; Contradiction: it borrows from itself. */
export async function putRoom(db: Database, viewer: Viewer, room: Room): Promise<Room> {
  await mustBeKnown(db, viewer, 'venue', room.venueId);
  const { glazing = null, humidifier = null, borrowsRoomId = null } = room;
  if (borrowsRoomId === room.id) {
    throw new Contradiction('borrowsRoomId', 'borrowsRoomId: a room cannot borrow its own air');
  }
  if (borrowsRoomId !== null) {
    const neighbour = await db
      .selectFrom('room')
      .$call(seenBy(viewer, 'room'))
      .select('id')
      .where('id', '=', borrowsRoomId)
      .where('venue_id', '=', room.venueId)
      .executeTakeFirst();
    if (!neighbour) throw new NotFound('borrowsRoomId', 'borrowsRoomId: no such room at this venue');
  }
  await putOwned(db, viewer, 'room', {
    id: room.id,
    venue_id: room.venueId,
    name: room.name,
    volume_m3: room.volumeM3,
    air_changes_per_hour: room.airChangesPerHour,
    wished_low_pct: room.wishedLowPct,
    wished_high_pct: room.wishedHighPct,
    glazing,
    humidifier: humidifier === null ? null : Number(humidifier),
    borrows_room_id: borrowsRoomId,
  });
  return room;
}
