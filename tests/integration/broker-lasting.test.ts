/** Connections last for months; what becomes of their gateway meanwhile reaches them too. */
import { writeFileSync } from 'node:fs';
import path from 'node:path';
import mqtt from 'mqtt';
import { beforeEach, expect, test } from 'vitest';
import { addGateway, eventually, type GatewaySecrets, manage } from '../support/service.ts';
import { serviceStage } from '../support/service-stage.ts';
import { standing } from '../support/standing.ts';

const stage = standing((undo) => serviceStage(undo));
/** Another for each test, under a name of its own. */
let gateways = 0;
let secrets: GatewaySecrets;
let client: mqtt.MqttClient;
const connectAgain = (password: string) =>
  mqtt.connectAsync(`mqtt://127.0.0.1:${stage.service.mqttPort}`, {
    protocolVersion: 4,
    username: secrets.user,
    password,
    reconnectPeriod: 0,
  });
beforeEach(async () => {
  gateways += 1;
  secrets = addGateway(stage.folder, `attic-${gateways}`);
  client = await connectAgain(secrets.password);
  return () => client.endAsync(true);
});
const topic = () => `readings/${secrets.user}`;

const pack = (humidityPct: number) => JSON.stringify([{ n: 'desk', u: '%RH', v: humidityPct }]);
/** Resolves true where the message was acknowledged. */
const taken = (payload: string): Promise<boolean> =>
  new Promise((resolve) => {
    const lost = () => resolve(false);
    client.once('close', lost);
    client.publish(topic(), payload, { qos: 1 }, (error) => {
      client.off('close', lost);
      resolve(!error);
    });
  });

test.each([['remove'], ['renew']])(
  '%s: what came in by the old secrets is cut, and its messages are not taken',
  async (verb) => {
    expect(await taken(pack(40))).toBe(true);
    expect(manage(stage.folder, ['gateway', verb, secrets.user]).code).toBe(0);
    let humidityPct = 41;
    await eventually('the connection is cut', async () => {
      humidityPct += 0.1;
      return !(await taken(pack(humidityPct)));
    });
  },
);

test('who comes back at once with renewed secrets is taken at once', async () => {
  expect(await taken(pack(40))).toBe(true);
  const { out } = manage(stage.folder, ['gateway', 'renew', secrets.user]);
  const password = /^password: (.+)$/m.exec(out)?.[1] ?? '';
  const renewed = await connectAgain(password);
  let cut = false;
  renewed.once('close', () => {
    cut = true;
  });
  await renewed.publishAsync(topic(), pack(41), { qos: 1 });
  expect(cut).toBe(false);
  await renewed.endAsync(true);
});

const profileOf = (): string => {
  const profile = path.join(stage.folder, 'profile.json');
  const read = { kind: 'mapped', sensor: '/id', values: [{ at: '/rh', quantity: 'humidityPct' }] };
  writeFileSync(profile, JSON.stringify(read));
  return profile;
};
const own = JSON.stringify({ id: 'desk', rh: 44 });
const asideOf = async () =>
  (await stage.client.sensors()).refused
    .filter(({ gateway }) => gateway === secrets.user)
    .reduce((sum, { count }) => sum + count, 0);

test('a profile set while a gateway is connected reads its next messages', async () => {
  expect(await taken(own)).toBe(true);
  await eventually('it is set aside', async () => (await asideOf()) > 0);
  expect(manage(stage.folder, ['gateway', 'profile', secrets.user, profileOf()]).code).toBe(0);
  await eventually('the profile reads it', async () => {
    const before = await asideOf();
    expect(await taken(own)).toBe(true);
    return (await asideOf()) === before;
  });
});

test('who comes in after a profile was set is read by it at once', async () => {
  expect(await taken(own)).toBe(true);
  const before = await eventually('it is set aside', asideOf);
  expect(manage(stage.folder, ['gateway', 'profile', secrets.user, profileOf()]).code).toBe(0);
  const again = await connectAgain(secrets.password);
  await again.publishAsync(topic(), own, { qos: 1 });
  await again.endAsync(true);
  // What is set aside is told before it is acknowledged.
  expect(await asideOf()).toBe(before);
});
