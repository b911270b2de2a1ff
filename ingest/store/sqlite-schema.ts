/** The tables of readings.db, and the sentence for a file that cannot be used. */
import { randomUUID } from 'node:crypto';
import Database from 'better-sqlite3';

/** Marks the file as ours ("CWRD"), so that another program's database is never written to. */
const applicationId = 0x43575244;
const schemaVersion = 1;

/**
 * Values are hundredths. `reading` is stored in the order it is read (WITHOUT ROWID: the key is the table).
 * `hourly` counts humidity (h_) and temperature (t_); `seq` is that of the last transaction that touched the hour, so
 * its index answers "what changed since?" and holds one entry per hour, however often that hour changes.
 */
const schema = `
  create table file (id text not null) strict;
  create table series (
    id integer primary key,
    organisation text not null,
    sensor text not null,
    unique (organisation, sensor)
  ) strict;
  create table reading (
    series integer not null,
    time integer not null,
    humidity integer,
    temperature integer,
    battery integer,
    primary key (series, time)
  ) strict, without rowid;
  create table hourly (
    series integer not null,
    hour integer not null,
    seq integer not null,
    h_count integer not null, h_sum integer not null, h_min integer, h_max integer,
    t_count integer not null, t_sum integer not null, t_min integer, t_max integer,
    primary key (series, hour)
  ) strict, without rowid;
  create index hourly_seq on hourly (seq);
`;

/**
 * SQLite before 3.51.3 can lose committed transactions in WAL mode with several connections (the WAL-reset bug, fixed
 * in 3.51.3); 3.52.0 was withdrawn.
 * @throws Error
 */
export function checkSqliteVersion(version: string): void {
  const [major = 0, minor = 0, patch = 0] = version.split('.').map(Number);
  const number = major * 1_000_000 + minor * 1_000 + patch;
  if (number < 3_051_003 || number === 3_052_000) {
    throw new Error(
      `SQLite ${version} can lose committed readings; 3.51.3 or newer is needed (not 3.52.0). Reinstall better-sqlite3.`,
    );
  }
}

const because = (error: unknown): string => (error instanceof Error ? error.message : String(error));

/** @throws Error with one sentence: not writable, not ours, made by a newer version, or an unsafe SQLite. */
export function openFile(file: string, synchronous: 'FULL' | 'NORMAL'): Database.Database {
  let db: Database.Database;
  try {
    // A short wait only: it holds the whole process. Longer waits for another writer are made in `sqlite.ts`.
    db = new Database(file, { timeout: 20 });
  } catch (error) {
    throw new Error(`The readings file ${file} cannot be opened for writing: ${because(error)}.`);
  }
  try {
    checkSqliteVersion(String(db.prepare('select sqlite_version()').pluck().get()));
    // The first connections to a new file may all want to make its tables.
    db.pragma('busy_timeout = 10000');
    const owner = db.pragma('application_id', { simple: true });
    const tables = db.prepare('select count(*) from sqlite_schema').pluck().get();
    if (owner !== applicationId && tables !== 0) throw new Error('it is another program’s database');
    db.pragma('journal_mode = WAL');
    db.pragma(`synchronous = ${synchronous}`);
    db.pragma('journal_size_limit = 67108864');
    // Pages in hand, kB. More than this the system's own cache serves as well, and memory is full early and stays flat.
    db.pragma('cache_size = -16384');
    db.transaction(() => {
      const version = Number(db.pragma('user_version', { simple: true }));
      if (version > schemaVersion) throw new Error('it was written by a newer version of crownwatch');
      if (version === schemaVersion) return;
      db.exec(schema);
      db.prepare('insert into file (id) values (?)').run(randomUUID());
      db.pragma(`application_id = ${applicationId}`);
      db.pragma(`user_version = ${schemaVersion}`);
    }).immediate();
    db.pragma('busy_timeout = 20');
    return db;
  } catch (error) {
    db.close();
    if (error instanceof Error && error.message.startsWith('SQLite ')) throw error;
    throw new Error(`The readings file ${file} cannot be used: ${because(error)}.`);
  }
}
