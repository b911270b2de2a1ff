/**
 * The machine's clock jumps by a day, forth and back, under the running service (libfaketime, by a file it watches).
 * Readings bear times of their own, so the clock decides only what is ahead of it: that is set aside, whole, and read
 * again when the clock is right.
 */
import { existsSync, renameSync, writeFileSync } from 'node:fs';
import path from 'node:path';
import { afterEach, expect, test } from 'vitest';
import { openReadings } from '../../ingest/index.ts';
import { addGateway, eventually, manage, startService, temporaryFolder } from '../support/service.ts';
import { countShelf, tellFault } from './shelf.ts';
import { type Sample, Storm, steadily } from './storm.ts';

const library = '/usr/lib/x86_64-linux-gnu/faketime/libfaketimeMT.so.1';
const able = existsSync(library);
if (!able) {
  if (process.env.CI) throw new Error('faketime is not installed, and CI must have it');
  console.warn('skipped: faketime is not installed');
}
const perPhase = process.env.CROWNWATCH_FULL ? 20_000 : 2_000;
const dayMs = 86_400_000;

const undo: (() => unknown)[] = [];
afterEach(async () => {
  for (const one of undo.splice(0).reverse()) await one();
});

test.skipIf(!able)('the clock jumps a day ahead, two back and home again', { timeout: 300_000 }, async () => {
  const folder = temporaryFolder();
  undo.push(folder.remove);
  const { user, password } = addGateway(folder.path, 'attic');
  const clock = path.join(folder.path, 'clock');
  /** At one stroke: it is read at any moment, and half-written it would be another time. */
  const setClock = (offset: string) => {
    writeFileSync(`${clock}.next`, offset);
    renameSync(`${clock}.next`, clock);
  };
  setClock('+0');
  const service = await startService(folder.path, {
    LD_PRELOAD: library,
    FAKETIME_TIMESTAMP_FILE: clock,
    FAKETIME_NO_CACHE: '1',
    FAKETIME_DONT_FAKE_MONOTONIC: '1',
    DONT_FAKE_MONOTONIC: '1',
  });
  undo.push(() => service.kill('SIGTERM'));
  const place = { port: service.mqttPort, user, password };
  /** The service's own clock, by the date of its answers. */
  const aheadMs = async () =>
    Date.parse((await fetch(`${service.url}/health`)).headers.get('date') ?? '') - Date.now();

  const nowMs = Date.now();
  /** A second apart up to now; of every fourth reading the hour stands in 2025, so that it is never ahead. */
  const sampleOf = (number: number): Sample =>
    number % 4 === 0
      ? steadily(number)
      : { sensor: 'urn:dev:mac:0200000000ff', timeMs: nowMs - number * 1_000, humidityPct: 40 };
  const phases = ['+0', '+1d', '-1d', '+0'] as const;
  const storm = new Storm(sampleOf, perPhase * phases.length);
  for (const [phase, offset] of phases.entries()) {
    setClock(offset);
    const wished = { '+0': 0, '+1d': dayMs, '-1d': -dayMs }[offset];
    await eventually('the clock', async () => Math.abs((await aheadMs()) - wished) < 60_000);
    // Who was dropped a day ahead is not kept out for a day when the clock comes back.
    await storm.rage({ ...place, password: 'wrong' }, { most: 0 });
    await storm.untilAll(() => place, perPhase * (phase + 1));
    expect(storm.acknowledged.size).toBe(perPhase * (phase + 1));
  }
  // The service lives, and its watch with it.
  expect(await (await fetch(`${service.url}/health`)).json()).toMatchObject({ status: 'ok' });
  await service.kill('SIGTERM');

  const count = async () => {
    const store = openReadings(path.join(folder.path, 'readings.db'));
    const counts = await countShelf(store, storm);
    await store.stop();
    return counts;
  };
  const setAside = (await count()).lost;
  // What was ahead of a clock that stood a day behind: three of four of that phase.
  expect(setAside).toBe((perPhase * 3) / 4);
  const replayed = manage(folder.path, ['gateway', 'replay', 'attic']);
  expect(replayed.code, replayed.said).toBe(0);
  tellFault(
    'the clock a day ahead, a day behind',
    await count(),
    `${setAside} set aside as ahead, then read again`,
  );
});
