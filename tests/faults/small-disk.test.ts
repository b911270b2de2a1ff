/** A small disk (tmpfs) that the storm fills: nothing more is acknowledged, the service lives, and with room goes on. */
import { spawnSync } from 'node:child_process';
import { statfsSync } from 'node:fs';
import path from 'node:path';
import { afterEach, expect, test } from 'vitest';
import { openReadings } from '../../ingest/index.ts';
import { addGateway, eventually, startService, temporaryFolder } from '../support/service.ts';
import { countShelf, tellFault } from './shelf.ts';
import { Storm } from './storm.ts';

const undo: (() => unknown)[] = [];
afterEach(async () => {
  for (const one of undo.splice(0).reverse()) await one();
});

const run = (program: string, ...words: string[]): boolean =>
  spawnSync(program, words, { stdio: 'ignore' }).status === 0;

const mayMount = (() => {
  if (process.getuid?.() !== 0) return false;
  const { path: folder, remove } = temporaryFolder();
  const mounted = run('mount', '-t', 'tmpfs', '-o', 'size=1m', 'tmpfs', folder);
  if (mounted) run('umount', folder);
  remove();
  return mounted;
})();
if (!mayMount) console.warn('skipped: a small tmpfs cannot be mounted here (root may)');

const times = process.env.CROWNWATCH_FULL ? 5 : 1;
const step = 8;

test.skipIf(!mayMount)(`a disk that fills up ${times} times`, { timeout: 1_800_000 }, async () => {
  const folder = temporaryFolder();
  undo.push(folder.remove);
  const data = path.join(folder.path, 'small');
  run('mkdir', data);
  expect(run('mount', '-t', 'tmpfs', '-o', `size=${step}m`, 'tmpfs', data)).toBe(true);
  undo.push(() => run('umount', '--lazy', data));
  const { user, password } = addGateway(data, 'attic');
  const service = await startService(data, { LOG_LEVEL: 'info' });
  undo.push(() => service.kill('SIGKILL'));
  const place = { port: service.mqttPort, user, password };
  const failures = () =>
    service.log.filter(({ msg }) => String(msg).startsWith('readings could not be')).length;

  const storm = new Storm();
  for (let full = 1; full <= times; full += 1) {
    const before = failures();
    while (failures() === before) await storm.rage(place);
    const { bavail, bsize } = statfsSync(data);
    expect(bavail * bsize).toBeLessThan(1_000_000);
    expect((await fetch(`${service.url}/metrics`)).status).toBe(200);
    expect(run('mount', '-o', `remount,size=${step * (full + 1)}m`, data)).toBe(true);
    // What was refused is taken now.
    const refused = storm.sent;
    await eventually(
      'taken',
      async () => {
        await storm.rage(place, { sendNew: false });
        return storm.acknowledged.size === refused;
      },
      60_000,
    );
  }
  expect(await service.kill('SIGTERM')).toBe(0);
  const store = openReadings(path.join(data, 'readings.db'));
  const counts = await countShelf(store, storm);
  await store.stop();
  tellFault(`a small disk full, ${times} times`, counts, `${storm.published} messages`);
  expect([counts.acknowledged, counts.stored]).toEqual([storm.sent, storm.sent]);
});
