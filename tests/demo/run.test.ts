/** The demo as a person runs it: a real process on a folder of its own, its service and its gateway. */
import { type ChildProcess, spawn } from 'node:child_process';
import { existsSync, mkdirSync, readFileSync, statSync, writeFileSync } from 'node:fs';
import path from 'node:path';
import { afterAll, afterEach, beforeAll, describe, expect, test } from 'vitest';
import { readGateway, readWorld, writeGateway } from '../../demo-data/world-file.ts';
import type { Health, InstrumentSummary, SensorsPage } from '../../server/contract/index.ts';
import { eventually, temporaryFolder } from '../support/service.ts';

const main = path.resolve(import.meta.dirname, '../../.build/demo-data/main.js');
const folder = temporaryFolder();
const dataDir = path.join(folder.path, 'demo');

interface Demo {
  readonly url: string;
  /** All it has said so far. */
  said(): string;
  stop(signal: NodeJS.Signals): Promise<number | null>;
}

/** A busy machine takes minutes for the whole past. */
const aSeedingMs = 300_000;
/** What the sensors say now is worked out from the first day on. */
const aLiveReadingMs = 120_000;

const running: ChildProcess[] = [];
afterEach(async () => {
  for (const child of running.splice(0)) {
    if (child.exitCode !== null || child.signalCode !== null) continue;
    const ended = new Promise((resolve) => child.once('close', resolve));
    child.kill('SIGTERM');
    await ended;
  }
});

function spawnDemo(env: Readonly<Record<string, string>> = {}) {
  const child = spawn(process.execPath, [main], {
    env: { PATH: process.env.PATH, DATA_DIR: dataDir, PORT: '0', MQTT_PORT: '0', WATCH_SECONDS: '1', ...env },
    stdio: ['ignore', 'pipe', 'pipe'],
  });
  running.push(child);
  let said = '';
  for (const stream of [child.stdout, child.stderr]) {
    stream.on('data', (chunk: Buffer) => {
      said += chunk.toString();
    });
  }
  const ended = new Promise<number | null>((resolve) => child.once('close', resolve));
  return { child, ended, said: () => said };
}

async function start(): Promise<Demo> {
  const { child, ended, said } = spawnDemo();
  const url = await eventually(
    'the demo tells its address',
    async () => {
      if (child.exitCode !== null) throw new Error(`the demo ended with ${child.exitCode}: ${said()}`);
      return /http:\/\/127\.0\.0\.1:\d+/.exec(said())?.[0];
    },
    aSeedingMs,
  );
  return {
    url,
    said,
    stop(signal) {
      child.kill(signal);
      return ended;
    },
  };
}

async function get<Answer>(demo: Demo, of: string): Promise<Answer> {
  // A kept-alive connection may be closed by the server just as it is used again.
  const answer = await fetch(`${demo.url}${of}`, { headers: { connection: 'close' } });
  if (!answer.ok) throw new Error(`${of}: ${answer.status}`);
  return (await answer.json()) as Answer;
}

/** @returns the time of a reading that was sent just now */
function liveReading(demo: Demo): Promise<number> {
  const sinceMs = Date.now() - 1000;
  return eventually(
    'a live reading',
    async () => {
      const { lastReadingMs } = await get<Health>(demo, '/health');
      return lastReadingMs !== null && lastReadingMs > sinceMs && lastReadingMs;
    },
    aLiveReadingMs,
  );
}

afterAll(() => folder.remove());

describe('from an empty folder', { timeout: aSeedingMs + 2 * aLiveReadingMs }, () => {
  let brokenOff: ReturnType<typeof readWorld> = null;
  let begunAgain = '';

  // One whole seeding serves all, after one that is broken off; each test starts on what it left.
  beforeAll(
    async () => {
      const { child, ended, said } = spawnDemo();
      await eventually('seeding', async () => said().includes('This happens once'), aSeedingMs);
      await eventually('the first readings', async () => existsSync(path.join(dataDir, 'readings.db')));
      child.kill('SIGKILL');
      await ended;
      brokenOff = readWorld(dataDir);
      const demo = await start();
      begunAgain = demo.said();
      const live = await liveReading(demo);
      expect(live).toBeLessThan(Date.now() + 1000);
      expect(await get<InstrumentSummary[]>(demo, '/api/instruments')).toHaveLength(28);
      expect((await get<SensorsPage>(demo, '/api/sensors')).sensors).toHaveLength(36);
      expect(await demo.stop('SIGTERM')).toBe(0);
    },
    2 * aSeedingMs + aLiveReadingMs,
  );

  test('a seeding broken off is begun again, and whole', () => {
    expect(brokenOff?.seeded).toBe(false);
    expect(begunAgain).toContain('This happens once');
    expect(readWorld(dataDir)).toMatchObject({ seeded: true, seed: brokenOff?.seed });
  });

  test('the gateway’s secret is its owner’s alone, and nobody’s log', async () => {
    const file = path.join(dataDir, 'demo-gateway.json');
    expect(statSync(file).mode & 0o777).toBe(0o600);
    const secret = readGateway(dataDir)?.password ?? '';
    expect(secret.length).toBeGreaterThan(20);
    const demo = await start();
    await liveReading(demo);
    await demo.stop('SIGINT');
    expect(demo.said()).not.toContain(secret);
  });

  test('a later start goes on with the same world: no seeding, and the time between is filled', async () => {
    const gateway = readGateway(dataDir);
    const before = readWorld(dataDir);
    if (!gateway) throw new Error('no gateway');
    // As if it had been stopped six hours ago: what is there already counts as a duplicate and stays.
    writeGateway(dataDir, { ...gateway, sentUntilMs: Date.now() - 6 * 3_600_000 });
    const demo = await start();
    expect(demo.said()).not.toContain('This happens once');
    expect(demo.said()).toMatch(/Went on from the last run: \d+ readings/);
    expect(readWorld(dataDir)).toEqual(before);
    await liveReading(demo);
    const { refused } = await get<SensorsPage>(demo, '/api/sensors');
    expect(refused).toEqual([]);
    expect(await demo.stop('SIGTERM')).toBe(0);
  });

  test('a second one on the same folder says so and passes the exit code on', async () => {
    const demo = await start();
    const second = spawnDemo();
    expect(await second.ended).toBe(1);
    expect(second.said()).toContain('is in use by another crownwatch');
    expect(await demo.stop('SIGTERM')).toBe(0);
  });
});

describe('a start that cannot succeed ends with one sentence and exit code 1', () => {
  test.each([
    ['a folder with someone’s own records', () => ({ DATA_DIR: ownRecords() }), 'not the demo’s'],
    ['a folder that cannot be made', () => ({ DATA_DIR: '/dev/null/demo' }), 'cannot be written to'],
    ['a faulty port', () => ({ DATA_DIR: path.join(folder.path, 'never'), PORT: 'eighty' }), 'PORT'],
  ])('%s', async (_what, env, words) => {
    const { ended, said } = spawnDemo(env());
    expect(await ended).toBe(1);
    expect(said().trim().split('\n')).toHaveLength(1);
    expect(said()).toContain(words);
  });

  test('the records found there are untouched, and a faulty port makes no folder', () => {
    expect(readFileSync(path.join(folder.path, 'own', 'records.db'), 'utf8')).toBe('mine');
    expect(existsSync(path.join(folder.path, 'never'))).toBe(false);
  });
});

function ownRecords(): string {
  const own = path.join(folder.path, 'own');
  mkdirSync(own, { recursive: true });
  writeFileSync(path.join(own, 'records.db'), 'mine');
  return own;
}
