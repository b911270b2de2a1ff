/** The venue's own face: what is known of a room's windows and water, tasks ticked without an account, events' demands. */
import { type Kysely, sql } from 'kysely';
import type { Records } from '../schema.ts';

const columns = [
  // What the windows are: how far the air may be raised in frost.
  `ALTER TABLE room ADD COLUMN glazing TEXT`,
  // 1: a humidifier stands here, which somebody has to fill.
  `ALTER TABLE room ADD COLUMN humidifier INTEGER`,
  // The room whose air speaks for this one while it has no sensor of its own.
  `ALTER TABLE room ADD COLUMN borrows_room_id TEXT`,
  `ALTER TABLE event ADD COLUMN required TEXT`,
  `ALTER TABLE venue_task ADD COLUMN day TEXT NOT NULL DEFAULT ''`,
  `ALTER TABLE venue_task ADD COLUMN kind TEXT NOT NULL DEFAULT ''`,
  `ALTER TABLE venue_task ADD COLUMN note TEXT NOT NULL DEFAULT ''`,
  `ALTER TABLE venue_task ADD COLUMN seen_ms BIGINT`,
  `CREATE UNIQUE INDEX venue_task_once ON venue_task (venue_id, room_id, kind, day)`,
  `CREATE INDEX venue_task_organisation ON venue_task (organisation_id, done_ms)`,
  // Bytes apart from the rows that lists read, as with photos of visits.
  `CREATE TABLE task_photo (
     task_id TEXT PRIMARY KEY REFERENCES venue_task(id), organisation_id TEXT NOT NULL REFERENCES organisation(id),
     large BLOB NOT NULL, small BLOB NOT NULL)`,
  // The secret itself is told once and kept nowhere.
  `CREATE TABLE task_link (
     venue_id TEXT PRIMARY KEY REFERENCES venue(id), organisation_id TEXT NOT NULL REFERENCES organisation(id),
     secret_hash TEXT NOT NULL, made_ms BIGINT NOT NULL, used_ms BIGINT)`,
  `CREATE UNIQUE INDEX task_link_secret ON task_link (secret_hash)`,
];

export async function up(db: Kysely<Records>): Promise<void> {
  for (const one of columns) await sql.raw(one).execute(db);
}
