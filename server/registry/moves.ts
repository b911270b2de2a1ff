/** Where an instrument stood when: dated moves, the last of which may take it out of the fleet. */
import type { Move } from '../contract/index.ts';
import type { Database } from '../db/database.ts';
import { mustBeKnown } from './known.ts';
import { Contradiction, NotFound, seenBy, type Viewer } from './viewer.ts';

/** A stay in one room, from when until when; null: from ever, or still. */
export interface Stay {
  readonly roomId: string;
  readonly fromMs: number | null;
  readonly untilMs: number | null;
}

const rowsOf = (db: Database, viewer: Viewer, instrumentId: string) =>
  db
    .selectFrom('move')
    .$call(seenBy(viewer, 'move'))
    .selectAll()
    .where('instrument_id', '=', instrumentId)
    .orderBy('at_ms')
    .execute();

export async function moves(db: Database, viewer: Viewer, instrumentId: string): Promise<Move[]> {
  const rows = await rowsOf(db, viewer, instrumentId);
  return rows.map(({ id, at_ms: atMs, room_id: roomId, words }) => ({
    id,
    instrumentId,
    atMs,
    roomId,
    words,
  }));
}

/** Oldest first; one stay in `roomId` where it was never moved. */
export async function stays(
  db: Database,
  viewer: Viewer,
  { id, roomId }: { readonly id: string; readonly roomId: string },
): Promise<Stay[]> {
  const rows = await rowsOf(db, viewer, id);
  const [first] = rows;
  if (!first) return [{ roomId, fromMs: null, untilMs: null }];
  const all: Stay[] = [{ roomId: first.from_room_id, fromMs: null, untilMs: first.at_ms }];
  rows.forEach((row, i) => {
    const next = rows[i + 1];
    // Where it stands now is what its own row says: a room may also have been put right without a move.
    if (row.room_id !== null)
      all.push({ roomId: next ? row.room_id : roomId, fromMs: row.at_ms, untilMs: next?.at_ms ?? null });
  });
  return all;
}

/**
 * Notes a move, newer than all before it; the same one again changes nothing.
 * @returns since when its air is another.
 * @throws NotFound, Contradiction
 */
export async function putMove(db: Database, viewer: Viewer, given: Move): Promise<Move> {
  return db.transaction().execute((trx) => noteMove(trx, viewer, given));
}

/** As `putMove`, within a transaction that has begun. */
export async function noteMove(trx: Database, viewer: Viewer, given: Move): Promise<Move> {
  const instrument = await trx
    .selectFrom('instrument')
    .$call(seenBy(viewer, 'instrument'))
    .select(['id', 'room_id'])
    .where('id', '=', given.instrumentId)
    .executeTakeFirst();
  if (!instrument) throw new NotFound('instrumentId', 'instrumentId: no such instrument');
  if (given.roomId !== null) {
    await mustBeKnown(trx, viewer, 'room', given.roomId);
  }
  const owner = await trx.selectFrom('move').selectAll().where('id', '=', given.id).executeTakeFirst();
  if (owner) {
    const same =
      owner.organisation_id === viewer.organisationId &&
      owner.instrument_id === given.instrumentId &&
      owner.at_ms === given.atMs &&
      owner.room_id === given.roomId &&
      owner.words === given.words;
    if (same) return given;
    if (owner.organisation_id !== viewer.organisationId) throw new NotFound('id', 'id: no such move');
    throw new Contradiction('id', 'id: another move was sent under this id');
  }
  const last = (await rowsOf(trx, viewer, given.instrumentId)).at(-1);
  if (last && last.at_ms >= given.atMs) {
    throw new Contradiction('atMs', 'atMs: must be later than its last move; moves are noted in their order');
  }
  await trx
    .insertInto('move')
    .values({
      id: given.id,
      organisation_id: viewer.organisationId,
      instrument_id: given.instrumentId,
      at_ms: given.atMs,
      from_room_id: instrument.room_id,
      room_id: given.roomId,
      words: given.words,
    })
    .execute();
  await trx
    .updateTable('instrument')
    .set(given.roomId === null ? { retired_ms: given.atMs } : { room_id: given.roomId, retired_ms: null })
    .where('organisation_id', '=', viewer.organisationId)
    .where('id', '=', given.instrumentId)
    .execute();
  return given;
}
