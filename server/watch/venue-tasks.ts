/** Tasks of a venue's day, ticked by whoever fills the humidifiers: once a day each, with a photo if they like. */
import { createHash, randomBytes, randomUUID } from 'node:crypto';
import type { RoomState, RoomToday, TaskLink, Venue, VenueTask } from '../contract/index.ts';
import type { Database } from '../db/database.ts';
import { mustBeKnown } from '../registry/known.ts';
import { NotFound, seenBy, type Viewer } from '../registry/viewer.ts';
import { pictureFrom } from '../visits/picture.ts';
import { localDay } from './venue-day.ts';

const shownTasks = 200;
const dayMs = 86_400_000;

const hashOf = (secret: string): string => createHash('sha256').update(secret).digest('hex');

/**
 * A new secret for a venue; the one before opens nothing from now on.
 * @returns the secret, which is kept nowhere
 * @throws NotFound
 */
export async function newTaskLink(
  db: Database,
  viewer: Viewer,
  venueId: string,
  nowMs: number,
): Promise<string> {
  await mustBeKnown(db, viewer, 'venue', venueId, 'id');
  const secret = randomBytes(24).toString('base64url');
  const row = { secret_hash: hashOf(secret), made_ms: nowMs, used_ms: null };
  await db
    .insertInto('task_link')
    .values({ venue_id: venueId, organisation_id: viewer.organisationId, ...row })
    .onConflict((conflict) => conflict.column('venue_id').doUpdateSet(row))
    .execute();
  return secret;
}

/** From now on nobody comes in by it. @throws NotFound */
export async function endTaskLink(db: Database, viewer: Viewer, venueId: string): Promise<void> {
  await mustBeKnown(db, viewer, 'venue', venueId, 'id');
  await db
    .deleteFrom('task_link')
    .where('organisation_id', '=', viewer.organisationId)
    .where('venue_id', '=', venueId)
    .execute();
}

export async function taskLinks(db: Database, viewer: Viewer): Promise<TaskLink[]> {
  return db
    .selectFrom('task_link')
    .$call(seenBy(viewer, 'task_link'))
    .select(['venue_id as venueId', 'made_ms as madeMs', 'used_ms as usedMs'])
    .execute();
}

/** Which venue a secret opens, and whose; null: none. */
export async function venueOfSecret(
  db: Database,
  secret: string,
): Promise<{ readonly venueId: string; readonly viewer: Viewer } | null> {
  const row = await db
    .selectFrom('task_link')
    .select(['venue_id', 'organisation_id'])
    .where('secret_hash', '=', hashOf(secret))
    .executeTakeFirst();
  return row ? { venueId: row.venue_id, viewer: { organisationId: row.organisation_id } } : null;
}

export async function noteLinkUse(db: Database, venueId: string, nowMs: number): Promise<void> {
  await db.updateTable('task_link').set({ used_ms: nowMs }).where('venue_id', '=', venueId).execute();
}

/** What was asked of a room: a tick for one matter leaves another open. */
export const doneKey = (roomId: string, state: string): string => `${roomId} ${state}`;

/** What was ticked today, by the venue's own day, and when. */
export async function doneToday(
  db: Database,
  viewer: Viewer,
  venues: ReadonlyMap<string, Venue>,
  nowMs: number,
): Promise<Map<string, number>> {
  const rows = await db
    .selectFrom('venue_task')
    .$call(seenBy(viewer, 'venue_task'))
    .select(['venue_id', 'room_id', 'kind', 'day', 'done_ms'])
    .where('done_ms', '>', nowMs - 2 * dayMs)
    .orderBy('done_ms')
    .execute();
  const done = new Map<string, number>();
  for (const row of rows) {
    const timeZone = venues.get(row.venue_id)?.timeZone;
    if (row.room_id && timeZone && row.day === localDay(nowMs, timeZone))
      done.set(doneKey(row.room_id, row.kind), row.done_ms);
  }
  return done;
}

export interface Tick {
  readonly room: Pick<RoomToday, 'id' | 'venueId' | 'timeZone' | 'today'>;
  readonly note: string;
  /** As it was sent; empty: none. */
  readonly photo: Uint8Array;
}

/**
 * Ticks the task of a room for today. The same again is harmless: it keeps the first time, and takes a note or a photo
 * that came with the second.
 * @throws NotAPicture
 */
export async function tickTask(
  db: Database,
  viewer: Viewer,
  { room, note, photo }: Tick,
  nowMs: number,
): Promise<void> {
  const picture = photo.length === 0 ? null : await pictureFrom(photo);
  const kind: RoomState = room.today.state;
  const day = localDay(nowMs, room.timeZone);
  const organisation_id = viewer.organisationId;
  await db.transaction().execute(async (trx) => {
    await trx
      .insertInto('venue_task')
      .values({
        id: randomUUID(),
        organisation_id,
        venue_id: room.venueId,
        room_id: room.id,
        task: [room.today.sentence, ...room.today.also].join(' '),
        done_ms: nowMs,
        day,
        kind,
        note,
      })
      .onConflict((conflict) => conflict.columns(['venue_id', 'room_id', 'kind', 'day']).doNothing())
      .execute();
    const kept = await trx
      .selectFrom('venue_task')
      .$call(seenBy(viewer, 'venue_task'))
      .select(['id', 'note'])
      .where('venue_id', '=', room.venueId)
      .where('room_id', '=', room.id)
      .where('kind', '=', kind)
      .where('day', '=', day)
      .executeTakeFirst();
    if (!kept) throw new Error('a ticked task without a row');
    if (note !== '' && kept.note !== note) {
      const whole = kept.note === '' ? note : `${kept.note}\n${note}`;
      // A second word is news to whoever saw the first.
      await trx
        .updateTable('venue_task')
        .set({ note: whole, seen_ms: null })
        .where('organisation_id', '=', organisation_id)
        .where('id', '=', kept.id)
        .execute();
    }
    if (!picture) return;
    const bytes = { large: picture.large, small: picture.small };
    await trx
      .insertInto('task_photo')
      .values({ task_id: kept.id, organisation_id, ...bytes })
      .onConflict((conflict) => conflict.column('task_id').doUpdateSet(bytes))
      .execute();
  });
}

/** Newest first. */
export async function venueTasks(db: Database, viewer: Viewer): Promise<VenueTask[]> {
  const rows = await db
    .selectFrom('venue_task')
    .innerJoin('venue', 'venue.id', 'venue_task.venue_id')
    .leftJoin('room', 'room.id', 'venue_task.room_id')
    .leftJoin('task_photo', 'task_photo.task_id', 'venue_task.id')
    .$call(seenBy(viewer, 'venue_task'))
    .select([
      'venue_task.id as id',
      'venue_task.venue_id as venueId',
      'venue.name as venueName',
      'venue.time_zone as timeZone',
      'venue_task.room_id as roomId',
      'room.name as roomName',
      'venue_task.task as task',
      'venue_task.note as note',
      'venue_task.done_ms as doneMs',
      'venue_task.seen_ms as seenMs',
      'task_photo.task_id as photoOf',
    ])
    .orderBy('venue_task.done_ms', 'desc')
    .limit(shownTasks)
    .execute();
  return rows.map(({ photoOf, roomName, ...row }) => ({
    ...row,
    roomName: roomName ?? '',
    photo: photoOf !== null,
  }));
}

/** @throws NotFound */
export async function seeTask(db: Database, viewer: Viewer, id: string, nowMs: number): Promise<VenueTask> {
  await db
    .updateTable('venue_task')
    .set({ seen_ms: nowMs })
    .where('organisation_id', '=', viewer.organisationId)
    .where('id', '=', id)
    .where('seen_ms', 'is', null)
    .execute();
  const task = (await venueTasks(db, viewer)).find((one) => one.id === id);
  if (!task) throw new NotFound('id', 'id: no such task');
  return task;
}

/** @throws NotFound */
export async function taskPhoto(
  db: Database,
  viewer: Viewer,
  id: string,
  size: 'large' | 'small',
): Promise<Buffer> {
  const row = await db
    .selectFrom('task_photo')
    .$call(seenBy(viewer, 'task_photo'))
    .select(['large', 'small'])
    .where('task_id', '=', id)
    .executeTakeFirst();
  if (!row) throw new NotFound('id', 'id: no such photo');
  return Buffer.from(row[size]);
}
