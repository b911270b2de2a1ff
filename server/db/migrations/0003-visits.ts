/** Photos, remarks, moves, the workshop's terms, and what visits say last of each item (derived, rebuilt with each visit). */
import { type Kysely, sql } from 'kysely';
import type { Records } from '../schema.ts';

const tables = [
  `CREATE TABLE photo (
     id TEXT PRIMARY KEY, organisation_id TEXT NOT NULL REFERENCES organisation(id),
     instrument_id TEXT NOT NULL REFERENCES instrument(id), received_ms BIGINT NOT NULL, sent_sha256 TEXT NOT NULL,
     width_px INTEGER NOT NULL, height_px INTEGER NOT NULL)`,
  `CREATE TABLE remark (
     id TEXT PRIMARY KEY, organisation_id TEXT NOT NULL REFERENCES organisation(id),
     instrument_id TEXT NOT NULL REFERENCES instrument(id), at_ms BIGINT NOT NULL, body TEXT NOT NULL,
     answer_visit_id TEXT, answer_ms BIGINT, answer TEXT)`,
  `CREATE INDEX remark_instrument ON remark (instrument_id, at_ms)`,
  `CREATE TABLE workshop (
     organisation_id TEXT PRIMARY KEY REFERENCES organisation(id), body TEXT NOT NULL)`,
  `CREATE TABLE move (
     id TEXT PRIMARY KEY, organisation_id TEXT NOT NULL REFERENCES organisation(id),
     instrument_id TEXT NOT NULL REFERENCES instrument(id), at_ms BIGINT NOT NULL,
     from_room_id TEXT NOT NULL REFERENCES room(id), room_id TEXT REFERENCES room(id), words TEXT NOT NULL)`,
  `CREATE INDEX move_instrument ON move (instrument_id, at_ms)`,
  `CREATE TABLE condition (
     instrument_id TEXT NOT NULL REFERENCES instrument(id), organisation_id TEXT NOT NULL, item TEXT NOT NULL,
     visit_id TEXT NOT NULL, at_ms BIGINT NOT NULL, condition_class INTEGER NOT NULL, finding TEXT,
     PRIMARY KEY (instrument_id, item))`,
  `CREATE TABLE work_done (
     visit_id TEXT NOT NULL, instrument_id TEXT NOT NULL, organisation_id TEXT NOT NULL, job TEXT NOT NULL,
     minutes INTEGER NOT NULL)`,
  `CREATE INDEX work_done_instrument ON work_done (instrument_id)`,
  `CREATE INDEX work_done_organisation ON work_done (organisation_id, job)`,
  `ALTER TABLE instrument ADD COLUMN retired_ms BIGINT`,
];

export async function up(db: Kysely<Records>): Promise<void> {
  for (const table of tables) await sql.raw(table).execute(db);
  // Apart from its row, so that lists never read pictures.
  await db.schema
    .createTable('photo_bytes')
    .addColumn('photo_id', 'text', (column) => column.primaryKey().references('photo.id'))
    .addColumn('organisation_id', 'text', (column) => column.notNull())
    .addColumn('large', 'blob', (column) => column.notNull())
    .addColumn('small', 'blob', (column) => column.notNull())
    .execute();
}
