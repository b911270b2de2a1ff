import { spawn } from 'node:child_process';
import { once } from 'node:events';
import { existsSync } from 'node:fs';
import { chmod, mkdtemp, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import path from 'node:path';
import Database from 'better-sqlite3';
import { afterEach, beforeEach, expect, test } from 'vitest';
import { openReadings } from '../../ingest/index.ts';
import { checkSqliteVersion } from '../../ingest/store/sqlite-schema.ts';
import { describeTimeSeries } from './time-series.ts';

let folder: string;
beforeEach(async () => {
  folder = await mkdtemp(path.join(tmpdir(), 'crownwatch-readings-'));
});
afterEach(() => rm(folder, { recursive: true, force: true }));

let places = 0;
describeTimeSeries('SQLite', async () => {
  places += 1;
  const own = await mkdtemp(path.join(tmpdir(), `crownwatch-place-${places}-`));
  return {
    open: async () => openReadings(path.join(own, 'readings.db')),
    remove: () => rm(own, { recursive: true, force: true }),
  };
});

const compiled = path.resolve(import.meta.dirname, '../../.build/ingest/index.js');

test.skipIf(!existsSync(compiled))(
  'two processes that write at once lose nothing and count every value once',
  async () => {
    const file = path.join(folder, 'readings.db');
    const child = path.join(import.meta.dirname, 'append.mjs');
    const run = async (offset: number) => {
      const process_ = spawn(process.execPath, [child, compiled, file, String(offset)], {
        stdio: ['ignore', 'pipe', 'inherit'],
      });
      let output = '';
      process_.stdout.on('data', (chunk) => {
        output += chunk;
      });
      const [code] = await once(process_, 'close');
      expect(code).toBe(0);
      return JSON.parse(output) as { stored: number; duplicates: number; conflicts: number };
    };
    // Each writes 150 batches of 20 readings; they share half of the times.
    const told = await Promise.all([run(0), run(1_500)]);
    const sum = (key: 'stored' | 'duplicates' | 'conflicts') =>
      told.reduce((total, counts) => total + counts[key], 0);
    expect([sum('stored'), sum('duplicates'), sum('conflicts')]).toEqual([4_500, 1_500, 0]);

    const store = openReadings(file);
    const id = { organisation: 'o', sensor: 's' };
    expect((await store.read(id, 0, 9e12)).timesMs).toHaveLength(4_500);
    const { count } = (await store.buckets(id, 0, 9e12, 3_600_000)).humidityPct;
    expect(count.reduce((total, hour) => total + hour, 0)).toBe(4_500);
    await store.stop();
  },
);

test('the file is written through a log (WAL) and is whole', async () => {
  const file = path.join(folder, 'readings.db');
  const store = openReadings(file);
  await store.append([{ organisation: 'o', sensor: 's', timeMs: 1e12, humidityPct: 40 }]);
  const look = new Database(file, { readonly: true });
  expect(look.pragma('journal_mode', { simple: true })).toBe('wal');
  expect(look.pragma('integrity_check', { simple: true })).toBe('ok');
  look.close();
  await store.stop();
});

// SQLite's own notes: the WAL-reset bug is fixed in 3.51.3; 3.52.0 was withdrawn (sqlite.org/wal.html, from memory).
test.each(['3.7.0', '3.50.4', '3.51.2', '3.52.0'])('SQLite %s is refused', (version) => {
  expect(() => checkSqliteVersion(version)).toThrow(/can lose committed readings/);
});
test.each(['3.51.3', '3.53.2', '4.0.0'])('SQLite %s is taken', (version) => {
  expect(() => checkSqliteVersion(version)).not.toThrow();
});

test('a file that cannot be used is refused in one sentence', async () => {
  const missing = path.join(folder, 'missing', 'readings.db');
  expect(() => openReadings(missing)).toThrow(
    /^The readings file .*missing.* cannot be opened for writing: [^\n]*\.$/,
  );

  const text = path.join(folder, 'text.db');
  await writeFile(text, 'this is a text, and long enough to be looked at as a database. '.repeat(100));
  expect(() => openReadings(text)).toThrow(/^The readings file .*text\.db cannot be used: [^\n]*\.$/);

  const foreign = path.join(folder, 'foreign.db');
  const other = new Database(foreign);
  other.exec('create table piano (id integer)');
  other.close();
  expect(() => openReadings(foreign)).toThrow(/another program’s database/);

  const newer = path.join(folder, 'newer.db');
  await openReadings(newer).stop();
  const later = new Database(newer);
  later.pragma('user_version = 99');
  later.close();
  expect(() => openReadings(newer)).toThrow(/newer version of crownwatch/);
});

// Root may write anywhere, so the folder's rights say nothing to it.
test.skipIf(process.getuid?.() === 0)('an unwritable folder is refused in one sentence', async () => {
  await chmod(folder, 0o500);
  expect(() => openReadings(path.join(folder, 'readings.db'))).toThrow(/cannot be opened for writing/);
});
