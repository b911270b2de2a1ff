/** A start that cannot succeed says why in one sentence and ends with exit code 1. */
import { chmodSync, mkdirSync, writeFileSync } from 'node:fs';
import { createServer } from 'node:net';
import path from 'node:path';
import { afterAll, afterEach, expect, test } from 'vitest';
import { listen } from '../support/ports.ts';
import {
  failingStart,
  manage,
  type RunningService,
  startService,
  temporaryFolder,
} from '../support/service.ts';

const started: RunningService[] = [];
const folder = temporaryFolder();
afterEach(async () => {
  for (const service of started.splice(0)) await service.kill('SIGTERM');
});
afterAll(folder.remove);

const oneSentence = (said: string) => said.trim().split('\n').length === 1 && !said.includes('    at ');

test('a second start on a folder in use', async () => {
  started.push(await startService(folder.path));
  const { code, said } = failingStart({
    DATA_DIR: folder.path,
    PORT: '0',
    MQTT_PORT: '0',
    MQTT_HOST: '127.0.0.1',
  });
  expect({ code, one: oneSentence(said) }).toEqual({ code: 1, one: true });
  expect(said).toContain('is in use by another crownwatch');
});

test('a folder whose service was killed can be started on again', async () => {
  const service = await startService(folder.path);
  await service.kill('SIGKILL');
  const again = await startService(folder.path);
  started.push(again);
  expect(again.url).toMatch(/^http/);
});

test.each(['PORT', 'MQTT_PORT'])('%s taken by another program', async (variable) => {
  const other = createServer();
  const port = String(await listen(other));
  const dataDir = path.join(folder.path, `taken-${variable}`);
  const env = { DATA_DIR: dataDir, PORT: '0', MQTT_PORT: '0', MQTT_HOST: '127.0.0.1', [variable]: port };
  const { code, said } = failingStart(env);
  other.close();
  expect({ code, one: oneSentence(said) }).toEqual({ code: 1, one: true });
  expect(said).toContain(variable);
  expect(said).toContain(port);
});

test('a folder that cannot be written', () => {
  const file = path.join(folder.path, 'a-file');
  writeFileSync(file, 'not a folder');
  const below = failingStart({ DATA_DIR: path.join(file, 'below') });
  expect({ code: below.code, one: oneSentence(below.said) }).toEqual({ code: 1, one: true });
  expect(below.said).toContain('cannot be written to');
  const refusing = failingStart({ DATA_DIR: '/proc/crownwatch/own' });
  expect({ code: refusing.code, one: oneSentence(refusing.said) }).toEqual({ code: 1, one: true });
});

test.skipIf(process.getuid?.() === 0)('a folder without the right to write (not told to root)', () => {
  const closed = path.join(folder.path, 'closed');
  mkdirSync(closed);
  chmodSync(closed, 0o500);
  expect(failingStart({ DATA_DIR: closed })).toMatchObject({ code: 1 });
});

test('all faulty variables are named together, and their values are not told', () => {
  const { code, said } = failingStart({
    DATA_DIR: folder.path,
    PORT: 'eighty',
    MQTT_PORT: '99999',
    LOG_LEVEL: 'loud',
  });
  expect({ code, one: oneSentence(said) }).toEqual({ code: 1, one: true });
  for (const name of ['PORT', 'MQTT_PORT', 'LOG_LEVEL']) expect(said).toContain(name);
  for (const value of ['eighty', '99999', 'loud']) expect(said).not.toContain(value);
});

test('the command line: an unknown command, a name taken, credentials on lines of their own', () => {
  const dataDir = path.join(folder.path, 'manage');
  expect(manage(dataDir, ['nothing'])).toMatchObject({ code: 1 });
  expect(manage(dataDir, ['gateway', 'add', 'attic']).out).toMatch(
    /^user: attic\npassword: \S{20,}\ntoken: \S{20,}\n$/,
  );
  const again = manage(dataDir, ['gateway', 'add', 'attic']);
  expect(again).toMatchObject({ code: 1, out: '' });
  expect(again.said).toContain('attic');
  expect(manage(dataDir, ['gateway', 'add', 'a/b'])).toMatchObject({ code: 1 });
});
