/** Connections last for months; what becomes of their gateway meanwhile reaches them too. */
import { writeFileSync } from 'node:fs';
import path from 'node:path';
import mqtt from 'mqtt';
import { afterEach, beforeEach, expect, test } from 'vitest';
import {
  addGateway,
  eventually,
  manage,
  type RunningService,
  startService,
  temporaryFolder,
} from '../support/service.ts';

let folder: ReturnType<typeof temporaryFolder>;
let service: RunningService;
let client: mqtt.MqttClient;
let secrets: { user: string; password: string };
const connectAgain = (password: string) =>
  mqtt.connectAsync(`mqtt://127.0.0.1:${service.mqttPort}`, {
    protocolVersion: 4,
    username: secrets.user,
    password,
    reconnectPeriod: 0,
  });
beforeEach(async () => {
  folder = temporaryFolder();
  service = await startService(folder.path);
  secrets = addGateway(folder.path, 'attic');
  client = await connectAgain(secrets.password);
});
afterEach(async () => {
  await client.endAsync(true);
  await service.kill('SIGTERM');
  folder.remove();
});

const pack = (humidityPct: number) => JSON.stringify([{ n: 'desk', u: '%RH', v: humidityPct }]);
/** Resolves true where the message was acknowledged. */
const taken = (payload: string): Promise<boolean> =>
  new Promise((resolve) => {
    const lost = () => resolve(false);
    client.once('close', lost);
    client.publish('readings/attic', payload, { qos: 1 }, (error) => {
      client.off('close', lost);
      resolve(!error);
    });
  });

test.each([['remove'], ['renew']])(
  '%s: what came in by the old secrets is cut, and its messages are not taken',
  async (verb) => {
    expect(await taken(pack(40))).toBe(true);
    expect(manage(folder.path, ['gateway', verb, 'attic']).code).toBe(0);
    let humidityPct = 41;
    await eventually('the connection is cut', async () => {
      humidityPct += 0.1;
      return !(await taken(pack(humidityPct)));
    });
  },
);

test('who comes back at once with renewed secrets is taken at once', async () => {
  expect(await taken(pack(40))).toBe(true);
  const { out } = manage(folder.path, ['gateway', 'renew', 'attic']);
  const password = /^password: (.+)$/m.exec(out)?.[1] ?? '';
  const renewed = await connectAgain(password);
  let cut = false;
  renewed.once('close', () => {
    cut = true;
  });
  await renewed.publishAsync('readings/attic', pack(41), { qos: 1 });
  expect(cut).toBe(false);
  await renewed.endAsync(true);
});

const profileOf = (): string => {
  const profile = path.join(folder.path, 'profile.json');
  const read = { kind: 'mapped', sensor: '/id', values: [{ at: '/rh', quantity: 'humidityPct' }] };
  writeFileSync(profile, JSON.stringify(read));
  return profile;
};
const own = JSON.stringify({ id: 'desk', rh: 44 });
const asideOf = async () => {
  const { refused } = (await (await fetch(`${service.url}/api/sensors`)).json()) as {
    readonly refused: { count: number }[];
  };
  return refused.reduce((sum, one) => sum + one.count, 0);
};

test('a profile set while a gateway is connected reads its next messages', async () => {
  expect(await taken(own)).toBe(true);
  await eventually('it is set aside', async () => (await asideOf()) > 0);
  expect(manage(folder.path, ['gateway', 'profile', 'attic', profileOf()]).code).toBe(0);
  await eventually('the profile reads it', async () => {
    const before = await asideOf();
    expect(await taken(own)).toBe(true);
    return (await asideOf()) === before;
  });
});

test('who comes in after a profile was set is read by it at once', async () => {
  expect(await taken(own)).toBe(true);
  const before = await eventually('it is set aside', asideOf);
  expect(manage(folder.path, ['gateway', 'profile', 'attic', profileOf()]).code).toBe(0);
  const again = await connectAgain(secrets.password);
  await again.publishAsync('readings/attic', own, { qos: 1 });
  await again.endAsync(true);
  // What is set aside is told before it is acknowledged.
  expect(await asideOf()).toBe(before);
});
