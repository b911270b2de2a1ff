/** Opens records.db and brings its tables up to date. */
import SQLite from 'better-sqlite3';
import { Kysely, type Migration, Migrator, SqliteDialect, sql } from 'kysely';
import * as first from './migrations/0001-first.ts';
import * as watch from './migrations/0002-watch.ts';
import * as visits from './migrations/0003-visits.ts';
import * as drift from './migrations/0004-drift.ts';
import * as readings from './migrations/0005-readings.ts';
import * as venue from './migrations/0006-venue.ts';
import * as sensors from './migrations/0007-sensors.ts';
import * as photoParts from './migrations/0010-photo-parts.ts';
import * as calendarSecret from './migrations/0011-calendar-secret.ts';
import * as registryChange from './migrations/0013-registry-change.ts';
import * as way from './migrations/0014-way.ts';
import * as refusedSeen from './migrations/0015-refused-seen.ts';
import type { Records } from './schema.ts';
import { withStatements } from './statements.ts';

export type Database = Kysely<Records>;

/** Named so that their order is the order of their names; never edited once released. */
const migrations: Record<string, Migration> = {
  '0001-first': first,
  '0002-watch': watch,
  '0003-visits': visits,
  '0004-drift': drift,
  '0005-readings': readings,
  '0006-venue': venue,
  '0007-sensors': sensors,
  '0010-photo-parts': photoParts,
  '0011-calendar-secret': calendarSecret,
  '0013-registry-change': registryChange,
  '0014-way': way,
  '0015-refused-seen': refusedSeen,
};

/** Moves with every commit of another connection to the same file; those of this one leave it as it is. */
export async function writesOfOthers(db: Database): Promise<number> {
  const { rows } = await sql<{ data_version: number }>`PRAGMA data_version`.execute(db);
  return rows[0]?.data_version ?? 0;
}

/**
 * @param file path of records.db; created when absent.
 * @throws Error with one sentence when a migration fails; the database is closed again.
 */
export async function openRecords(file: string): Promise<Database> {
  const sqlite = new SQLite(file);
  sqlite.pragma('journal_mode = WAL');
  // What was confirmed to a person must survive a power cut.
  sqlite.pragma('synchronous = FULL');
  sqlite.pragma('foreign_keys = ON');
  sqlite.pragma('busy_timeout = 10000');
  sqlite.pragma('journal_size_limit = 67108864');
  // 16 MB: what a fleet writes in an hour goes back into the file once, and not in the middle of it.
  sqlite.pragma('wal_autocheckpoint = 4000');
  const db: Database = new Kysely<Records>({
    dialect: new SqliteDialect({ database: withStatements(sqlite) }),
  });
  const migrator = new Migrator({ db, provider: { getMigrations: async () => migrations } });
  const { error } = await migrator.migrateToLatest();
  if (error) {
    await db.destroy();
    const why = error instanceof Error ? error.message : String(error);
    throw new Error(`The records in ${file} could not be brought up to date: ${why}`);
  }
  return db;
}
