/** What the watch keeps: its state, settings, notice histories, people, messages, choices about calls. */
import { type Kysely, sql } from 'kysely';
import type { Records } from '../schema.ts';

const noticeColumns = [
  `to_venue TEXT NOT NULL DEFAULT ''`,
  `to_client TEXT NOT NULL DEFAULT ''`,
  `acknowledged_ms BIGINT`,
  `acknowledged_by TEXT`,
  `acknowledged_note TEXT`,
  `snoozed_until_ms BIGINT`,
  `frozen_because TEXT`,
  `ended_because TEXT`,
  `part_of TEXT`,
];

const tables = [
  `CREATE INDEX notice_part ON notice (part_of)`,
  `CREATE INDEX notice_subject ON notice (subject_id, state)`,
  `CREATE TABLE outlook (
     instrument_id TEXT PRIMARY KEY REFERENCES instrument(id), organisation_id TEXT NOT NULL, made_ms BIGINT NOT NULL,
     body TEXT NOT NULL)`,
  `CREATE TABLE setting (
     organisation_id TEXT NOT NULL REFERENCES organisation(id), scope TEXT NOT NULL, scope_id TEXT NOT NULL,
     name TEXT NOT NULL, value DOUBLE PRECISION NOT NULL, PRIMARY KEY (scope_id, name))`,
  `CREATE TABLE humidity_control (
     id TEXT PRIMARY KEY, organisation_id TEXT NOT NULL REFERENCES organisation(id),
     instrument_id TEXT NOT NULL REFERENCES instrument(id), kind TEXT NOT NULL, set_pct DOUBLE PRECISION NOT NULL,
     since_ms BIGINT NOT NULL, until_ms BIGINT)`,
  `CREATE INDEX humidity_control_instrument ON humidity_control (instrument_id)`,
  `CREATE TABLE event (
     id TEXT PRIMARY KEY, organisation_id TEXT NOT NULL REFERENCES organisation(id),
     venue_id TEXT NOT NULL REFERENCES venue(id), name TEXT NOT NULL, start_ms BIGINT NOT NULL, instrument_ids TEXT NOT NULL)`,
  `CREATE INDEX event_start ON event (organisation_id, start_ms)`,
  `CREATE TABLE weather_day (
     venue_id TEXT NOT NULL REFERENCES venue(id), organisation_id TEXT NOT NULL, day TEXT NOT NULL,
     low_c DOUBLE PRECISION NOT NULL, high_c DOUBLE PRECISION NOT NULL, dew_point_c DOUBLE PRECISION NOT NULL,
     said_ms BIGINT NOT NULL, PRIMARY KEY (venue_id, day))`,
  `CREATE TABLE sensor_condition (
     sensor_id TEXT PRIMARY KEY REFERENCES sensor(id), organisation_id TEXT NOT NULL, body TEXT NOT NULL)`,
  `CREATE TABLE person (
     id TEXT PRIMARY KEY, organisation_id TEXT NOT NULL REFERENCES organisation(id), body TEXT NOT NULL,
     told_seq BIGINT NOT NULL, digest_ms BIGINT NOT NULL, key TEXT NOT NULL, unsubscribed_ms BIGINT,
     created_ms BIGINT NOT NULL)`,
  `CREATE UNIQUE INDEX person_key ON person (key)`,
  `CREATE TABLE webhook (
     id TEXT PRIMARY KEY, organisation_id TEXT NOT NULL REFERENCES organisation(id), url TEXT NOT NULL,
     secret TEXT NOT NULL, told_seq BIGINT NOT NULL, created_ms BIGINT NOT NULL)`,
  `CREATE TABLE outgoing (
     id TEXT PRIMARY KEY, organisation_id TEXT NOT NULL REFERENCES organisation(id), channel TEXT NOT NULL,
     kind TEXT NOT NULL, person_id TEXT, webhook_id TEXT, instrument_id TEXT, address TEXT NOT NULL, because TEXT NOT NULL,
     body TEXT NOT NULL, made_ms BIGINT NOT NULL, state TEXT NOT NULL, attempts INTEGER NOT NULL, next_ms BIGINT NOT NULL,
     last_error TEXT, sent_ms BIGINT)`,
  `CREATE INDEX outgoing_waiting ON outgoing (state, next_ms)`,
  `CREATE INDEX outgoing_person ON outgoing (person_id, kind, made_ms)`,
  `CREATE TABLE call_choice (
     call_id TEXT PRIMARY KEY, organisation_id TEXT NOT NULL REFERENCES organisation(id), choice TEXT NOT NULL,
     planned_ms BIGINT, person_id TEXT, reason TEXT NOT NULL, chosen_ms BIGINT NOT NULL)`,
  `CREATE TABLE call_done (
     call_id TEXT NOT NULL, visit_id TEXT NOT NULL, organisation_id TEXT NOT NULL REFERENCES organisation(id),
     instrument_id TEXT NOT NULL, kind TEXT NOT NULL, place TEXT NOT NULL, why TEXT NOT NULL, done_ms BIGINT NOT NULL,
     planned_ms BIGINT, PRIMARY KEY (call_id, visit_id))`,
  `CREATE TABLE care_answer (
     id TEXT PRIMARY KEY, organisation_id TEXT NOT NULL REFERENCES organisation(id), instrument_id TEXT NOT NULL,
     person_id TEXT NOT NULL, answer TEXT NOT NULL, date_ms BIGINT, answered_ms BIGINT NOT NULL)`,
  `CREATE TABLE care_words (
     organisation_id TEXT NOT NULL REFERENCES organisation(id), situation TEXT NOT NULL, subject TEXT NOT NULL,
     words TEXT NOT NULL, PRIMARY KEY (organisation_id, situation))`,
  `CREATE TABLE venue_task (
     id TEXT PRIMARY KEY, organisation_id TEXT NOT NULL REFERENCES organisation(id), venue_id TEXT NOT NULL,
     room_id TEXT, task TEXT NOT NULL, done_ms BIGINT NOT NULL)`,
  `CREATE TABLE secret (name TEXT PRIMARY KEY, value TEXT NOT NULL)`,
];

export async function up(db: Kysely<Records>): Promise<void> {
  for (const column of noticeColumns) await sql.raw(`ALTER TABLE notice ADD COLUMN ${column}`).execute(db);
  for (const table of tables) await sql.raw(table).execute(db);
  const { schema } = db;
  await schema
    .createTable('watch_state')
    .addColumn('instrument_id', 'text', (column) => column.primaryKey().references('instrument.id'))
    .addColumn('organisation_id', 'text', (column) => column.notNull())
    .addColumn('hour_ms', 'bigint', (column) => column.notNull())
    .addColumn('state', 'blob', (column) => column.notNull())
    .execute();
  await schema
    .createTable('watch_day')
    .addColumn('instrument_id', 'text', (column) => column.notNull().references('instrument.id'))
    .addColumn('day', 'integer', (column) => column.notNull())
    .addColumn('state', 'blob', (column) => column.notNull())
    .addPrimaryKeyConstraint('watch_day_key', ['instrument_id', 'day'])
    .execute();
  await schema
    .createTable('notice_event')
    .addColumn('seq', 'integer', (column) => column.primaryKey().autoIncrement())
    .addColumn('organisation_id', 'text', (column) => column.notNull())
    .addColumn('notice_id', 'text', (column) => column.notNull())
    .addColumn('at_ms', 'bigint', (column) => column.notNull())
    .addColumn('kind', 'text', (column) => column.notNull())
    .addColumn('severity', 'integer', (column) => column.notNull())
    .addColumn('note', 'text', (column) => column.notNull())
    .execute();
  await schema.createIndex('notice_event_notice').on('notice_event').column('notice_id').execute();
  await schema
    .createTable('delivery')
    .addColumn('seq', 'integer', (column) => column.primaryKey().autoIncrement())
    .addColumn('organisation_id', 'text', (column) => column.notNull())
    .addColumn('outgoing_id', 'text')
    .addColumn('person_id', 'text')
    .addColumn('at_ms', 'bigint', (column) => column.notNull())
    .addColumn('kind', 'text', (column) => column.notNull())
    .addColumn('sentence', 'text', (column) => column.notNull())
    .execute();
  await schema.createIndex('delivery_outgoing').on('delivery').column('outgoing_id').execute();
}
