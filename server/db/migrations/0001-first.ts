import { type Kysely, sql } from 'kysely';
import type { Records } from '../schema.ts';

const tables = [
  `CREATE TABLE organisation (id TEXT PRIMARY KEY, name TEXT NOT NULL, created_ms BIGINT NOT NULL)`,
  `CREATE TABLE gateway (
     id TEXT PRIMARY KEY, organisation_id TEXT NOT NULL REFERENCES organisation(id), name TEXT NOT NULL UNIQUE,
     password_hash TEXT NOT NULL, token_hash TEXT NOT NULL UNIQUE, created_ms BIGINT NOT NULL)`,
  `CREATE TABLE refused_tally (
     organisation_id TEXT NOT NULL, gateway TEXT NOT NULL, reason TEXT NOT NULL, count BIGINT NOT NULL,
     last_ms BIGINT NOT NULL, sentence TEXT NOT NULL, PRIMARY KEY (organisation_id, gateway, reason))`,
  `CREATE TABLE venue (
     id TEXT PRIMARY KEY, organisation_id TEXT NOT NULL REFERENCES organisation(id), name TEXT NOT NULL, time_zone TEXT NOT NULL)`,
  `CREATE TABLE room (
     id TEXT PRIMARY KEY, organisation_id TEXT NOT NULL REFERENCES organisation(id),
     venue_id TEXT NOT NULL REFERENCES venue(id), name TEXT NOT NULL, volume_m3 DOUBLE PRECISION,
     air_changes_per_hour DOUBLE PRECISION, wished_low_pct DOUBLE PRECISION NOT NULL, wished_high_pct DOUBLE PRECISION NOT NULL)`,
  `CREATE TABLE instrument (
     id TEXT PRIMARY KEY, organisation_id TEXT NOT NULL REFERENCES organisation(id),
     room_id TEXT NOT NULL REFERENCES room(id), name TEXT NOT NULL, kind TEXT NOT NULL, size_cm DOUBLE PRECISION,
     year INTEGER, serial TEXT, pitch_standard_hz DOUBLE PRECISION NOT NULL, "use" TEXT NOT NULL, board TEXT NOT NULL,
     remarks TEXT NOT NULL)`,
  `CREATE TABLE sensor (
     id TEXT PRIMARY KEY, organisation_id TEXT NOT NULL REFERENCES organisation(id), urn TEXT NOT NULL,
     first_seen_ms BIGINT NOT NULL, last_ms BIGINT, last_humidity_pct DOUBLE PRECISION,
     last_temperature_c DOUBLE PRECISION, battery_pct DOUBLE PRECISION, interval_ms DOUBLE PRECISION,
     UNIQUE (organisation_id, urn))`,
  `CREATE TABLE placement (
     id TEXT PRIMARY KEY, organisation_id TEXT NOT NULL REFERENCES organisation(id),
     sensor_id TEXT NOT NULL REFERENCES sensor(id), spot TEXT NOT NULL, room_id TEXT REFERENCES room(id),
     instrument_id TEXT REFERENCES instrument(id), venue_id TEXT REFERENCES venue(id),
     from_ms BIGINT NOT NULL, until_ms BIGINT)`,
  `CREATE INDEX placement_room ON placement (room_id)`,
  `CREATE INDEX placement_instrument ON placement (instrument_id)`,
  `CREATE INDEX placement_sensor ON placement (sensor_id, from_ms)`,
  `CREATE TABLE visit (
     id TEXT PRIMARY KEY, organisation_id TEXT NOT NULL REFERENCES organisation(id),
     instrument_id TEXT NOT NULL REFERENCES instrument(id), at_ms BIGINT NOT NULL, received_ms BIGINT NOT NULL,
     corrects TEXT, body TEXT NOT NULL)`,
  `CREATE INDEX visit_instrument ON visit (instrument_id, at_ms)`,
  `CREATE TABLE board_day (
     instrument_id TEXT NOT NULL REFERENCES instrument(id), organisation_id TEXT NOT NULL, day INTEGER NOT NULL,
     mean_pct DOUBLE PRECISION, checkpoint TEXT, PRIMARY KEY (instrument_id, day))`,
  `CREATE TABLE board_state (
     instrument_id TEXT PRIMARY KEY REFERENCES instrument(id), organisation_id TEXT NOT NULL, hour_ms BIGINT NOT NULL,
     state TEXT NOT NULL)`,
  `CREATE TABLE standing (
     instrument_id TEXT PRIMARY KEY REFERENCES instrument(id), organisation_id TEXT NOT NULL,
     evaluated_ms BIGINT NOT NULL, body TEXT NOT NULL)`,
  `CREATE TABLE notice (
     id TEXT PRIMARY KEY, organisation_id TEXT NOT NULL, rule TEXT NOT NULL, subject_id TEXT NOT NULL,
     instrument_id TEXT, sensor_id TEXT, venue_id TEXT, severity INTEGER NOT NULL, state TEXT NOT NULL, began_ms BIGINT NOT NULL,
     over_ms BIGINT, place TEXT NOT NULL, what TEXT NOT NULL, why TEXT NOT NULL, to_do TEXT NOT NULL, not_before_ms BIGINT,
     minutes INTEGER NOT NULL, evidence TEXT NOT NULL)`,
  `CREATE INDEX notice_state ON notice (organisation_id, state)`,
  // One open episode per rule and subject, whatever two processes may think.
  `CREATE UNIQUE INDEX notice_one_open ON notice (rule, subject_id) WHERE state <> 'over'`,
  `CREATE TABLE watermark (name TEXT PRIMARY KEY, value TEXT NOT NULL)`,
];

export async function up(db: Kysely<Records>): Promise<void> {
  for (const table of tables) await sql.raw(table).execute(db);
  await db.schema
    .createTable('refused')
    .addColumn('id', 'integer', (column) => column.primaryKey().autoIncrement())
    .addColumn('organisation_id', 'text')
    .addColumn('gateway', 'text')
    .addColumn('received_ms', 'bigint', (column) => column.notNull())
    .addColumn('topic', 'text', (column) => column.notNull())
    .addColumn('reason', 'text', (column) => column.notNull())
    .addColumn('sentence', 'text', (column) => column.notNull())
    .addColumn('payload', 'blob', (column) => column.notNull())
    .execute();
}
