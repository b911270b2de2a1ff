/** The embedded broker over TLS and WebSocket, with certificates made by openssl and clients that are not ours. */
import { readFileSync } from 'node:fs';
import { connect } from 'node:net';
import path from 'node:path';
import mqtt, { type IClientOptions } from 'mqtt';
import { afterAll, afterEach, describe, expect, test } from 'vitest';
import { WebSocket } from 'ws';
import { readDoorSettings } from '../../ingest/index.ts';
import { makeCertificates } from '../support/certificates.ts';
import { hasMosquitto } from '../support/mosquitto.ts';
import {
  addGateway,
  eventually,
  failingStart,
  hasProgram,
  type RunningService,
  startService,
  temporaryFolder,
} from '../support/service.ts';
import { connectAs, mosquittoPub, openWire, organisation, publish, startStand } from './broker-stand.ts';

const able = hasProgram('openssl') && hasMosquitto();
const folder = temporaryFolder();
if (able) makeCertificates(folder.path);
const at = (name: string): string => path.join(folder.path, name);
const pem = (name: string): Buffer => readFileSync(at(name));
const pack = (v: number) => JSON.stringify([{ n: 'desk', u: '%RH', v, t: 1_768_478_400 + v }]);

const undo: (() => unknown)[] = [];
afterEach(async () => {
  for (const one of undo.splice(0).reverse()) await one();
});
afterAll(() => folder.remove());

async function standWith(clientAuthority?: Buffer) {
  const certificates = { certificate: pem('server.pem'), key: pem('server.key'), clientAuthority };
  const stand = await startStand(undefined, {
    host: '127.0.0.1',
    certificates,
    tlsPort: 0,
    websocketPort: 0,
  });
  undo.push(stand.stop);
  const { tlsPort, websocketPort } = stand.broker;
  return { ...stand, tls: Number(tlsPort), websocket: Number(websocketPort) };
}

/** The client library, as `attic`; rejects where it is not let in. */
async function attic(url: string, more: IClientOptions = {}) {
  const client = await mqtt.connectAsync(
    url,
    {
      ...{ protocolVersion: 4, username: 'attic', password: 'citta', ca: pem('ca.pem'), reconnectPeriod: 0 },
      ...more,
    },
    false,
  );
  undo.push(() => client.endAsync(true));
  return client;
}

describe.skipIf(!able)('the embedded broker', () => {
  test('over TLS: mosquitto_pub publishes, and the certificate is one its authority has signed', async () => {
    const { tls, store } = await standWith();
    const words = ['-q', '1', '-V', 'mqttv311', '-t', 'readings/attic', '-m', pack(40)];
    expect(await mosquittoPub(tls, [...words, '--cafile', at('ca.pem')])).toMatchObject({ code: 0 });
    const id = { organisation, sensor: 'desk' };
    expect((await store.read(id, 0, 9e12)).humidityPct).toEqual([40]);
    expect((await mosquittoPub(tls, [...words, '--cafile', at('stranger.pem')])).code).not.toBe(0);
    // In clear text nobody comes in where TLS is spoken.
    expect((await mosquittoPub(tls, words)).code).not.toBe(0);
    expect((await store.read(id, 0, 9e12)).humidityPct).toEqual([40]);
  });

  test.each(['ws', 'wss'] as const)('over WebSocket (%s): acknowledged and on the shelf', async (scheme) => {
    const secure = scheme === 'wss';
    const stand = secure
      ? await standWith()
      : await startStand(undefined, {
          host: '127.0.0.1',
          certificates: null,
          tlsPort: null,
          websocketPort: 0,
        });
    if (!secure) undo.push(stand.stop);
    const client = await attic(`${scheme}://127.0.0.1:${stand.broker.websocketPort}`);
    const many = Array.from({ length: 500 }, (_, v) =>
      client.publishAsync('readings/attic', pack(v / 10), { qos: 1 }),
    );
    await Promise.all(many);
    const { timesMs } = await stand.store.read({ organisation, sensor: 'desk' }, 0, 9e12);
    expect(timesMs).toHaveLength(500);
    await expect(
      attic(`${scheme}://127.0.0.1:${stand.broker.websocketPort}`, { password: 'wrong' }),
    ).rejects.toThrow(/bad username or password/i);
  });

  test('asked for client certificates, only who shows one of their authority comes in, and only with its password', async () => {
    const { tls, websocket, store } = await standWith(pem('ca.pem'));
    const own = { cert: pem('client.pem'), key: pem('client.key') };
    for (const url of [`mqtts://127.0.0.1:${tls}`, `wss://127.0.0.1:${websocket}`]) {
      const client = await attic(url, own);
      await client.publishAsync('readings/attic', pack(url.length), { qos: 1 });
      await expect(attic(url)).rejects.toThrow();
      await expect(attic(url, { cert: pem('stranger.pem'), key: pem('stranger.key') })).rejects.toThrow();
      await expect(attic(url, { ...own, password: 'wrong' })).rejects.toThrow(/bad username or password/i);
    }
    expect((await store.read({ organisation, sensor: 'desk' }, 0, 9e12)).timesMs).toHaveLength(2);
  });

  test('any bytes on these ports: the process stays, the next one is served', async () => {
    const { tls, websocket, errors } = await standWith();
    for (const port of [tls, websocket]) {
      for (const bytes of [
        'GET / HTTP/1.1\r\n\r\n',
        '\x16\x03\x01\xff\xff',
        '\x10\x00',
        'x'.repeat(100_000),
      ]) {
        const socket = connect(port, '127.0.0.1');
        socket.on('error', () => {});
        const closed = new Promise((resolve) => socket.once('close', resolve));
        socket.end(Buffer.from(bytes, 'latin1'));
        socket.resume();
        await closed;
      }
    }
    await (await attic(`mqtts://127.0.0.1:${tls}`)).publishAsync('readings/attic', pack(1), { qos: 1 });
    await (await attic(`wss://127.0.0.1:${websocket}`)).publishAsync('readings/attic', pack(2), { qos: 1 });
    expect(errors).toEqual([]);
  });

  test('who says nothing on a TLS port cannot keep others out', async () => {
    const { tls } = await standWith();
    const silent = await Promise.all(
      Array.from({ length: 520 }, () => {
        const socket = connect(tls, '127.0.0.1');
        socket.on('error', () => {});
        return new Promise<typeof socket>((resolve) => socket.once('connect', () => resolve(socket)));
      }),
    );
    undo.push(() => silent.map((socket) => socket.destroy()));
    await (await attic(`mqtts://127.0.0.1:${tls}`)).publishAsync('readings/attic', pack(1), { qos: 1 });
    await eventually('the longest went', async () => silent[0]?.destroyed);
  });

  test('a web page of another protocol is told what is spoken here', async () => {
    const stand = await startStand(undefined, {
      ...{ host: '127.0.0.1', certificates: null, tlsPort: null, websocketPort: 0 },
    });
    undo.push(stand.stop);
    const port = stand.broker.websocketPort;
    const answer = await fetch(`http://127.0.0.1:${port}/`);
    expect([answer.status, await answer.text()]).toEqual([426, expect.stringContaining('subprotocol mqtt')]);
    const other = new WebSocket(`ws://127.0.0.1:${port}`, 'chat');
    const refused = await new Promise((resolve) => {
      other.once('error', () => resolve('refused'));
      other.once('close', () => resolve('refused'));
      other.once('message', () => resolve('spoken to'));
    });
    expect(refused).toBe('refused');
  });

  test('a stranger on a WebSocket who sends a huge frame is cut off before it is whole', async () => {
    const stand = await startStand(undefined, {
      ...{ host: '127.0.0.1', certificates: null, tlsPort: null, websocketPort: 0 },
    });
    undo.push(stand.stop);
    const stranger = new WebSocket(`ws://127.0.0.1:${stand.broker.websocketPort}`, 'mqtt');
    stranger.on('error', () => {});
    const closed = new Promise((resolve) => stranger.once('close', resolve));
    stranger.once('open', () => stranger.send(Buffer.alloc(900_000, 0x10)));
    await closed;
    // The same size is a packet like any other from who has been let in.
    const client = await attic(`ws://127.0.0.1:${stand.broker.websocketPort}`);
    const text = `[${'{"n":"desk","u":"%RH","v":40,"t":1768478400},'.repeat(15_000)}{"n":"desk","u":"%RH","v":41,"t":1768478401}]`;
    expect(text.length).toBeGreaterThan(600_000);
    await client.publishAsync('readings/attic', text, { qos: 1 });
    expect((await stand.store.read({ organisation, sensor: 'desk' }, 0, 9e12)).humidityPct).toEqual([40, 41]);
  });
});

test('two devices under one client id are told once, with where they are; one that comes back is not', async () => {
  const stand = await startStand();
  undo.push(stand.stop);
  const told = () => stand.setAside.filter(({ reason }) => reason === 'shared-client-id');
  async function enter(clientId: string) {
    const wire = await openWire(stand.broker.port);
    wire.send(connectAs('attic', { clientId }));
    expect(await wire.next('connack')).toMatchObject({ returnCode: 0 });
    return wire;
  }
  // It leaves before it comes back: nobody is sent away.
  for (let time = 0; time < 6; time += 1) {
    const wire = await enter('alone');
    wire.send(publish('readings/attic', pack(time)));
    await wire.next('puback');
    wire.socket.destroy();
    await eventually('gone', async () => stand.broker.clients() === 0);
  }
  expect(told()).toEqual([]);
  let before = await enter('twins');
  for (let time = 0; time < 8; time += 1) {
    const next = await enter('twins');
    await before.closed;
    before = next;
  }
  await eventually('told', async () => told().length > 0);
  expect(told()).toHaveLength(1);
  expect(told()[0]).toMatchObject({ organisation, gateway: 'gateway-attic' });
  expect(told()[0]?.sentence).toMatch(
    /^Connections of the gateway attic under the client id twins end each other \(from \S+ and \S+\): as a rule two devices share it\. Give each its own\.$/,
  );
});

describe.skipIf(!able)('settings', () => {
  const files = { MQTT_CERTIFICATE_FILE: at('server.pem'), MQTT_KEY_FILE: at('server.key') };
  test.each([
    [{ MQTT_TLS_PORT: '8883' }, 'MQTT_TLS_PORT: needs MQTT_CERTIFICATE_FILE and MQTT_KEY_FILE'],
    [{ MQTT_TLS_PORT: 'x', ...files }, 'MQTT_TLS_PORT: must be 0 to 65535'],
    [{ MQTT_CERTIFICATE_FILE: at('none.pem') }, 'MQTT_CERTIFICATE_FILE: the file cannot be read'],
    [
      { MQTT_CERTIFICATE_FILE: at('server.pem'), MQTT_TLS_PORT: '0' },
      'MQTT_CERTIFICATE_FILE and MQTT_KEY_FILE: set both',
    ],
    [
      { ...files, MQTT_KEY_FILE: at('client.key'), MQTT_TLS_PORT: '0' },
      'must be a PEM certificate and its own key',
    ],
    [files, 'MQTT_CERTIFICATE_FILE: serves nothing without'],
    [
      { ...files, MQTT_TLS_PORT: '0', MQTT_CLIENT_CA_FILE: at('server.key') },
      'MQTT_CLIENT_CA_FILE: must hold PEM certificates',
    ],
    [{ MQTT_CLIENT_CA_FILE: at('ca.pem'), MQTT_WEBSOCKET_PORT: '0' }, 'MQTT_CLIENT_CA_FILE: needs'],
  ] as [Record<string, string>, string][])('setting %#: a fault is told by name', (env, fault) => {
    const { doors, faults } = readDoorSettings(env);
    expect(doors).toBeNull();
    expect(faults.join('; ')).toContain(fault);
    expect(faults.join('; ')).not.toMatch(/PRIVATE KEY|crownwatch-test/);
  });

  test('the service opens what its settings name, and says a fault in one sentence', async () => {
    const own = temporaryFolder();
    undo.push(own.remove);
    const { user, password } = addGateway(own.path, 'attic');
    const service: RunningService = await startService(own.path, {
      ...files,
      MQTT_TLS_HOST: '127.0.0.1',
      MQTT_TLS_PORT: '0',
      MQTT_WEBSOCKET_PORT: '0',
    });
    undo.push(() => service.kill('SIGTERM'));
    const listening = service.log.find(({ msg }) => msg === 'listening');
    // Those of the test run out in two days.
    expect(service.log.some(({ msg }) => String(msg).startsWith('the certificate of the MQTT ports'))).toBe(
      true,
    );
    for (const url of [
      `mqtts://127.0.0.1:${listening?.mqttTlsPort}`,
      `wss://127.0.0.1:${listening?.mqttWebsocketPort}`,
    ]) {
      const client = await attic(url, { username: user, password });
      await client.publishAsync('readings/attic', pack(url.length), { qos: 1 });
    }
    const other = temporaryFolder();
    undo.push(other.remove);
    const taken = failingStart({
      ...{ DATA_DIR: other.path, PORT: '0', MQTT_PORT: '0', MQTT_HOST: '127.0.0.1' },
      ...{ ...files, MQTT_TLS_HOST: '127.0.0.1', MQTT_TLS_PORT: String(listening?.mqttTlsPort) },
    });
    expect(taken.said).toMatch(
      /^MQTT_TLS_PORT: The MQTT port \d+ on 127\.0\.0\.1 is in use by another program\.\n$/,
    );
    const failed = failingStart({ DATA_DIR: own.path, MQTT_TLS_PORT: '8883', PORT: 'x' });
    expect(failed.code).toBe(1);
    expect(failed.said).toMatch(/^These settings cannot be used: PORT: .*; MQTT_TLS_PORT: needs [^\n]*\n$/);
  }, 180_000);
});
