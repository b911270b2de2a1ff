import { type Kysely, sql } from 'kysely';
import type { Records } from '../schema.ts';

const tables = [
  // What one instrument's visits say, computed once: it changes with a visit or with late air, not by the hour.
  `CREATE TABLE drift_interval (
     instrument_id TEXT PRIMARY KEY REFERENCES instrument(id), organisation_id TEXT NOT NULL,
     computed_ms BIGINT NOT NULL, body TEXT NOT NULL)`,
  `CREATE TABLE forecast (
     instrument_id TEXT PRIMARY KEY REFERENCES instrument(id), organisation_id TEXT NOT NULL,
     made_ms BIGINT NOT NULL, rests_on TEXT NOT NULL, body TEXT NOT NULL)`,
  `CREATE TABLE drift_fit (organisation_id TEXT PRIMARY KEY, fitted_ms BIGINT NOT NULL, body TEXT NOT NULL)`,
];

export async function up(db: Kysely<Records>): Promise<void> {
  for (const table of tables) await sql.raw(table).execute(db);
}
