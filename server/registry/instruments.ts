import type { Instrument } from '../contract/index.ts';
import { board as boardSchema, instrument as instrumentSchema } from '../contract/index.ts';
import type { Database } from '../db/database.ts';
import { mustBeKnown } from './known.ts';
import { putOwned } from './put-owned.ts';
import { NotFound, seenBy, type Viewer } from './viewer.ts';

/** An instrument and where it stands. */
export interface PlacedInstrument extends Instrument {
  readonly roomName: string;
  readonly venueId: string;
  readonly venueName: string;
  readonly timeZone: string;
}

const query = (db: Database, viewer: Viewer) =>
  db
    .selectFrom('instrument')
    .innerJoin('room', 'room.id', 'instrument.room_id')
    .innerJoin('venue', 'venue.id', 'room.venue_id')
    .$call(seenBy(viewer, 'instrument'))
    .select([
      'instrument.id as id',
      'instrument.room_id as roomId',
      'instrument.name as name',
      'instrument.kind as kind',
      'instrument.size_cm as sizeCm',
      'instrument.year as year',
      'instrument.serial as serial',
      'instrument.pitch_standard_hz as pitchStandardHz',
      'instrument.use as use',
      'instrument.board as board',
      'instrument.remarks as remarks',
      'room.name as roomName',
      'venue.id as venueId',
      'venue.name as venueName',
      'venue.time_zone as timeZone',
    ]);

type Row = Awaited<ReturnType<ReturnType<typeof query>['execute']>>[number];

function fromRow(row: Row): PlacedInstrument {
  const { roomName, venueId, venueName, timeZone, board, ...plain } = row;
  const instrument = instrumentSchema.parse({ ...plain, board: boardSchema.parse(JSON.parse(board)) });
  return { ...instrument, roomName, venueId, venueName, timeZone };
}

/** Those in use; a retired one is still found by its id. */
export async function instruments(db: Database, viewer: Viewer): Promise<PlacedInstrument[]> {
  const rows = await query(db, viewer)
    .where('instrument.retired_ms', 'is', null)
    .orderBy('venue.name')
    .orderBy('room.name')
    .orderBy('instrument.name')
    .execute();
  return rows.map(fromRow);
}

/**
 * @param field what the caller sent the id as, for the sentence.
 * @throws NotFound
 */
export async function instrument(
  db: Database,
  viewer: Viewer,
  id: string,
  field = 'id',
): Promise<PlacedInstrument> {
  const row = await query(db, viewer).where('instrument.id', '=', id).executeTakeFirst();
  if (!row) throw new NotFound(field, `${field}: no such instrument`);
  return fromRow(row);
}

/** @throws NotFound when the room is not the viewer's. */
export async function putInstrument(db: Database, viewer: Viewer, given: Instrument): Promise<Instrument> {
  await mustBeKnown(db, viewer, 'room', given.roomId);
  await putOwned(db, viewer, 'instrument', {
    id: given.id,
    room_id: given.roomId,
    name: given.name,
    kind: given.kind,
    size_cm: given.sizeCm,
    year: given.year,
    serial: given.serial,
    pitch_standard_hz: given.pitchStandardHz,
    use: given.use,
    board: JSON.stringify(given.board),
    remarks: given.remarks,
  });
  return given;
}

/** How a person calls it: "Fernmoor Conservatory · Studio 4 · Grand 208 cm". */
export const placeOf = (one: PlacedInstrument): string => `${one.venueName} · ${one.roomName} · ${one.name}`;
