/** The embedded store: one SQLite file. A batch resolves when it would survive a power cut (synchronous = FULL). */
import { setImmediate as breathe, setTimeout as pause } from 'node:timers/promises';
import { SqliteError } from 'better-sqlite3';
import { grouped } from '../group.ts';
import type { Reading } from '../reading.ts';
import { prepareWriter } from './sqlite-append.ts';
import { prepareReader } from './sqlite-read.ts';
import { openFile } from './sqlite-schema.ts';
import { assertStorable } from './storable.ts';
import type { TimeSeries } from './time-series.ts';

/** One transaction: short enough not to hold the thread, long enough that its commit weighs little. */
const readingsPerTransaction = 4_000;
/** How long another process may hold the file before an append fails. */
const patienceMs = 30_000;

type Counts = { stored: number; duplicates: number; conflicts: number };
type Part = { readonly readings: readonly Reading[]; readonly counts: Counts };

/** Cuts the batches of a group into transactions of bearable size; each part knows whose counts it adds to. */
function* transactionsOf(parts: readonly Part[]): Generator<Part[]> {
  let transaction: Part[] = [];
  let room = readingsPerTransaction;
  for (const { readings, counts } of parts) {
    for (let from = 0; from < readings.length; ) {
      const piece =
        readings.length - from <= room && from === 0 ? readings : readings.slice(from, from + room);
      transaction.push({ readings: piece, counts });
      from += piece.length;
      room -= piece.length;
      if (room === 0) {
        yield transaction;
        transaction = [];
        room = readingsPerTransaction;
      }
    }
  }
  if (transaction.length > 0) yield transaction;
}

/**
 * Opens (or makes) readings.db. Several processes and threads may have the same file open.
 * @param options.synchronous NORMAL survives a crash of the process but not of the machine: for tests and throw-away data.
 * @throws Error with one sentence when the file cannot be used
 */
export function openReadings(
  file: string,
  { synchronous = 'FULL' }: { synchronous?: 'FULL' | 'NORMAL' } = {},
): TimeSeries {
  const db = openFile(file, synchronous);
  const writer = prepareWriter(db);
  const reader = prepareReader(db);
  const begin = db.prepare('begin immediate');
  const commit = db.prepare('commit');
  const rollback = db.prepare('rollback');

  /** Waits for another writer without holding the thread. */
  async function beginWhenFree(): Promise<void> {
    for (const deadlineMs = performance.now() + patienceMs; ; ) {
      try {
        begin.run();
        return;
      } catch (error) {
        const busy = error instanceof SqliteError && error.code.startsWith('SQLITE_BUSY');
        if (!busy || performance.now() > deadlineMs) throw error;
        await pause(2 + Math.random() * 8);
      }
    }
  }

  async function write(transaction: readonly Part[]): Promise<void> {
    await beginWhenFree();
    try {
      for (const { readings, counts } of transaction) writer.write(readings, counts);
      writer.finish();
      commit.run();
    } catch (error) {
      writer.rolledBack();
      if (db.inTransaction) rollback.run();
      throw error;
    }
    writer.committed();
  }

  const appends = grouped<readonly Reading[], Counts>(
    { mostWeight: 1_000, longestMs: 5, weigh: (batch) => Math.max(1, batch.length) },
    async (batches) => {
      const parts = batches.map((readings) => ({
        readings,
        counts: { stored: 0, duplicates: 0, conflicts: 0 },
      }));
      let first = true;
      for (const transaction of transactionsOf(parts)) {
        if (!first) await breathe();
        first = false;
        await write(transaction);
      }
      return parts.map(({ counts }) => counts);
    },
  );

  return {
    conflictKeeps: 'first',
    counts: 'exact',
    async append(batch) {
      for (const reading of batch) assertStorable(reading);
      if (batch.length === 0) return { stored: 0, duplicates: 0, conflicts: 0 };
      return appends.add(batch);
    },
    ...reader,
    async stop() {
      await appends.settle();
      if (db.open) db.close();
    },
  };
}
