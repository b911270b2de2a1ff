/** The disk is full: nothing is acknowledged, the process stays, and when there is room again it goes on by itself. */
import { spawnSync } from 'node:child_process';
import { mkdtemp, rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import path from 'node:path';
import { afterEach, beforeEach, expect, test } from 'vitest';
import { openReadings } from '../../ingest/index.ts';
import { connectAs, openWire, organisation, publish } from '../integration/broker-stand.ts';
import { hasProgram } from '../support/service.ts';
import { isBuilt, startCollector } from './collector.ts';

let folder: string;
beforeEach(async () => {
  folder = await mkdtemp(path.join(tmpdir(), 'crownwatch-full-'));
});
afterEach(() => rm(folder, { recursive: true, force: true }));

const pack = (n: string, v: number) => [{ n, u: '%RH', v, t: 1_768_478_400 + v * 60 }];

test.skipIf(!hasProgram('prlimit') || !isBuilt)('a disk that is full, and then is not', async () => {
  const file = path.join(folder, 'readings.db');
  const collector = await startCollector(file, 'FULL');
  /** How large a file of the process may grow stands in for the room on the disk: writes fail as they would there. */
  const room = (bytes: string) => {
    const { status, stderr } = spawnSync('prlimit', ['--pid', String(collector.pid), `--fsize=${bytes}:`]);
    expect(status, String(stderr)).toBe(0);
  };
  async function admitted() {
    const wire = await openWire(collector.port);
    wire.send(connectAs('attic'));
    expect(await wire.next('connack')).toMatchObject({ returnCode: 0 });
    return wire;
  }

  const before = await admitted();
  before.send(publish('readings/attic', pack('desk', 40)));
  await before.next('puback');

  room('1');
  for (let attempt = 0; attempt < 2; attempt += 1) {
    const during = attempt === 0 ? before : await admitted();
    during.send(publish('readings/attic', pack('shelf', 41), { messageId: 2, dup: attempt > 0 }));
    await during.closed;
    expect(during.received.filter(({ cmd }) => cmd === 'puback')).toHaveLength(attempt === 0 ? 1 : 0);
  }
  // Signal 0 only asks whether the process lives.
  expect(process.kill(collector.pid, 0)).toBe(true);

  room('unlimited');
  const after = await admitted();
  // `shelf` was first named in a transaction that failed; nothing of it may be left, or another could get its number.
  for (const [sensor, messageId] of [
    ['loft', 1],
    ['shelf', 2],
  ] as const) {
    after.send(publish('readings/attic', pack(sensor, 41 + messageId), { messageId, dup: true }));
    await after.next('puback');
  }
  after.socket.destroy();
  await collector.stop();

  const store = openReadings(file);
  const shelf = async (sensor: string) => (await store.read({ organisation, sensor }, 0, 9e12)).humidityPct;
  expect([await shelf('desk'), await shelf('loft'), await shelf('shelf')]).toEqual([[40], [42], [43]]);
  await store.stop();
});
