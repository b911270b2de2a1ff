/**
 * The folder that holds everything: readings.db and records.db. One service at a time owns it. The lock is a database
 * held in an exclusive transaction, so that the system releases it with the process however that ends.
 */
import { accessSync, constants, existsSync, mkdirSync } from 'node:fs';
import path from 'node:path';
import SQLite from 'better-sqlite3';

export interface DataFolder {
  readonly readingsFile: string;
  readonly recordsFile: string;
  /** What is remembered of brokers elsewhere. */
  readonly brokersFile: string;
}

/** One level at a time: where a file system refuses (/proc), `recursive` of Node 20 tries for ever. */
function makeFolder(folder: string): void {
  if (existsSync(folder)) return;
  makeFolder(path.dirname(folder));
  mkdirSync(folder, { mode: 0o700 });
}

/** @throws Error with one sentence where the folder cannot be made or written. */
export function openDataFolder(dataDir: string): DataFolder {
  try {
    makeFolder(dataDir);
    accessSync(dataDir, constants.W_OK | constants.X_OK);
  } catch (error) {
    const why = error instanceof Error && 'code' in error ? ` (${String(error.code)})` : '';
    throw new Error(`The data folder ${dataDir} cannot be written to${why}; set DATA_DIR to one that can.`);
  }
  return {
    readingsFile: path.join(dataDir, 'readings.db'),
    recordsFile: path.join(dataDir, 'records.db'),
    brokersFile: path.join(dataDir, 'brokers.json'),
  };
}

/** @throws Error with one sentence when another service owns the folder. */
export function lockDataFolder(dataDir: string): { release(): void } {
  const lock = new SQLite(path.join(dataDir, 'service.lock'), { timeout: 0 });
  try {
    lock.exec('BEGIN EXCLUSIVE');
  } catch {
    lock.close();
    throw new Error(`The data folder ${dataDir} is in use by another crownwatch; stop that one first.`);
  }
  return {
    release() {
      lock.close();
    },
  };
}
