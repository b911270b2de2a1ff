/** Collecting from an outside broker: Debian's mosquitto, a real process, over MQTT 5 and 3.1.1. */
import { spawnSync } from 'node:child_process';
import { mkdtemp, readFile, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import path from 'node:path';
import mqtt from 'mqtt';
import { afterEach, beforeEach, describe, expect, test } from 'vitest';
import {
  createPipeline,
  type Gateways,
  type Memory,
  memoryInFile,
  type OutsideBroker,
  openReadings,
  type Pipeline,
  type SetAside,
  type Subscriber,
  startSubscriber,
  type TimeSeries,
} from '../../ingest/index.ts';
import { makeCertificates } from '../support/certificates.ts';
import { hasMosquitto, startMosquitto } from '../support/mosquitto.ts';
import { addGateway, eventually, hasProgram, startService, temporaryFolder } from '../support/service.ts';
import { startWiretap } from '../support/wiretap.ts';
import { mosquittoPub } from './broker-stand.ts';

const able = hasMosquitto();
const organisation = 'conservatory';
const attic = { id: 'gateway-attic', organisation, name: 'attic' };
const gateways: Pick<Gateways, 'byName'> = { byName: async (name) => (name === 'attic' ? attic : null) };
const startMs = Date.UTC(2025, 0, 1);
const pack = (number: number, sensor = 'desk') =>
  JSON.stringify([
    { n: sensor, u: '%RH', v: (number % 10_000) / 100, t: (startMs + number * 1_000) / 1_000 },
  ]);

let folder: string;
let store: TimeSeries;
let setAside: SetAside[];
const undo: (() => Promise<unknown>)[] = [];
beforeEach(async () => {
  folder = await mkdtemp(path.join(tmpdir(), 'crownwatch-mqtt-'));
  store = openReadings(path.join(folder, 'readings.db'));
  setAside = [];
});
afterEach(async () => {
  for (const one of undo.splice(0).reverse()) await one();
  await store.stop();
  await rm(folder, { recursive: true, force: true });
});

const pipelineOn = (of: TimeSeries): Pipeline =>
  createPipeline({
    store: of,
    refused: {
      async setAside(batch) {
        setAside.push(...batch);
      },
    },
  });

function subscribe(
  port: number,
  more: Partial<OutsideBroker> = {},
  pipeline = pipelineOn(store),
  memory?: Memory,
): { subscriber: Subscriber; pipeline: Pipeline; subscribed(): Promise<unknown> } {
  let subscriptions = 0;
  const quiet = () => {};
  const log = {
    ...{ debug: quiet, warn: quiet, error: quiet },
    info(_: object, message: string) {
      if (message === 'collecting from the broker') subscriptions += 1;
    },
  };
  const subscriber = startSubscriber(
    {
      url: `mqtt://127.0.0.1:${port}`,
      protocolVersion: 5,
      clientId: 'collector',
      topic: 'readings/#',
      ...more,
    },
    { gateways, pipeline, log, ...(memory ? { memory } : {}) },
  );
  undo.push(() => subscriber.stop());
  // Connected alone is too early: what is published before the subscription stands goes to nobody.
  const subscribed = () => eventually('the subscription', async () => subscriptions > 0);
  return { subscriber, pipeline, subscribed };
}

/** Publishes numbers [from, to) at QoS 1 and resolves when the broker has taken them all. */
async function publishAll(port: number, from: number, to: number): Promise<void> {
  const client = await mqtt.connectAsync(`mqtt://127.0.0.1:${port}`, { clientId: `publisher-${from}` });
  const sending: Promise<unknown>[] = [];
  for (let number = from; number < to; number += 1) {
    sending.push(client.publishAsync('readings/attic', pack(number), { qos: 1 }));
  }
  await Promise.all(sending);
  await client.endAsync();
}

/** A store that takes nothing while its gate is shut; it counts who came. */
function gatedStore() {
  let gate = Promise.resolve();
  let begun = 0;
  const gated: TimeSeries = {
    ...store,
    async append(batch) {
      begun += 1;
      await gate;
      return store.append(batch);
    },
  };
  return {
    store: gated,
    begun: () => begun,
    /** @returns what lets through whoever comes from now on, until it is shut again */
    shut(): () => void {
      let open = (): void => {};
      gate = new Promise((resolve) => {
        open = resolve;
      });
      return open;
    },
  };
}

const held = async (sensor = 'desk') => (await store.read({ organisation, sensor }, 0, 9e12)).timesMs;
const stored = (many: number) =>
  eventually(`${many} readings`, async () => (await held()).length === many, 50_000);

describe.skipIf(!able)('an outside broker', () => {
  test.each([5, 4] as const)(
    'what comes while nobody listens waits in the session (MQTT %s)',
    async (protocolVersion) => {
      const broker = await startMosquitto();
      undo.push(broker.stop);
      const { subscriber: first, subscribed } = subscribe(broker.port, { protocolVersion });
      await subscribed();
      await publishAll(broker.port, 0, 300);
      await stored(300);
      await first.stop();
      await publishAll(broker.port, 300, 900);
      const { subscriber, pipeline } = subscribe(broker.port, { protocolVersion });
      await stored(900);
      expect(subscriber.possibleGaps()).toBe(0);
      expect(pipeline.tally()).toMatchObject({ stored: 600, duplicates: 0 });
      // All acknowledged: the broker has nothing left to deliver.
      await subscriber.stop();
      const again = subscribe(broker.port, { protocolVersion });
      await publishAll(broker.port, 900, 901);
      await stored(901);
      expect(again.pipeline.tally()).toMatchObject({ received: 1, stored: 1 });
    },
  );

  test('what the store could not take is not acknowledged and comes again, all of it', async () => {
    const broker = await startMosquitto();
    undo.push(broker.stop);
    let appends = 0;
    const failing: TimeSeries = {
      ...store,
      async append(batch) {
        appends += 1;
        if (appends % 400 === 7) throw new Error('no room');
        return store.append(batch);
      },
    };
    const { subscriber, pipeline, subscribed } = subscribe(broker.port, {}, pipelineOn(failing));
    await subscribed();
    await publishAll(broker.port, 0, 1_000);
    await stored(1_000);
    await subscriber.stop();
    expect(pipeline.tally().failed).toBeGreaterThan(0);
    expect(subscriber.possibleGaps()).toBe(0);
    const times = await held();
    expect(new Set(times).size).toBe(1_000);
  });

  test('a store that holds everything up holds the broker up too, and nothing is lost', async () => {
    const broker = await startMosquitto();
    undo.push(broker.stop);
    const gate = gatedStore();
    const open = gate.shut();
    const { subscribed } = subscribe(broker.port, {}, pipelineOn(gate.store));
    await subscribed();
    await publishAll(broker.port, 0, 5_000);
    await eventually('some wait', async () => gate.begun() >= 1_000);
    expect(gate.begun()).toBeLessThanOrEqual(2_000);
    open();
    await stored(5_000);
  });

  test('a broker restarted without its sessions while commits wait: no stale PUBACK, and the gap is told', async () => {
    const broker = await startMosquitto();
    undo.push(broker.stop);
    const tap = await startWiretap(broker.port, 5);
    undo.push(tap.stop);
    const gate = gatedStore();
    const open = gate.shut();
    const { subscriber, subscribed } = subscribe(tap.port, {}, pipelineOn(gate.store));
    await subscribed();
    await publishAll(broker.port, 0, 50);
    await eventually('all wait', async () => gate.begun() === 50);
    await broker.restart('SIGKILL');
    await eventually('connected again', async () => tap.connections.length > 1 && subscriber.connected());
    // The broker numbers its messages anew: these bear ids that those before had, and wait longer.
    const openLast = gate.shut();
    await eventually('subscribed anew', async () =>
      tap.connections.at(-1)?.some(({ packet }) => packet.cmd === 'suback'),
    );
    await publishAll(broker.port, 50, 60);
    await eventually('they wait', async () => gate.begun() === 60);
    open();
    await stored(50);
    const pubacks = () => tap.connections.at(-1)?.filter(({ packet }) => packet.cmd === 'puback') ?? [];
    expect(pubacks()).toEqual([]);
    openLast();
    await stored(60);
    await eventually('acknowledged', async () => pubacks().length === 10);
    // Each PUBACK answers a PUBLISH of its own connection, in its order.
    const ids = (cmd: string) =>
      tap.connections
        .at(-1)
        ?.flatMap(({ packet }) =>
          packet.cmd === cmd && packet.messageId !== undefined ? [packet.messageId] : [],
        );
    expect(ids('puback')).toEqual(ids('publish'));
    expect(subscriber.possibleGaps()).toBe(1);
    expect(setAside).toMatchObject([{ reason: 'possible-gap', organisation: null }]);
    expect(setAside[0]?.sentence).toMatch(
      /between \d{4}-\d\d-\d\dT\S+Z and \d{4}-\d\d-\d\dT\S+Z may be missing/,
    );
  });

  test('a session lost while we were away is a possible gap; a first connection is not', async () => {
    const broker = await startMosquitto();
    undo.push(broker.stop);
    const file = path.join(folder, 'sessions.json');
    const begin = async () => {
      const { subscriber } = subscribe(broker.port, {}, pipelineOn(store), memoryInFile(file));
      await eventually('connected', async () => subscriber.connected());
      return subscriber;
    };
    await (await begin()).stop();
    expect(setAside).toEqual([]);
    const again = await begin();
    await again.stop();
    expect([again.possibleGaps(), setAside]).toEqual([0, []]);

    // Without persistence it comes back without our session.
    await broker.restart('SIGKILL');
    const lost = await begin();
    await eventually('told', async () => lost.possibleGaps() === 1);
    await eventually('set aside', async () => setAside.length === 1);
    expect(setAside[0]).toMatchObject({ reason: 'possible-gap', topic: 'mqtt client collector' });
    const [, since = ''] = /between (\S+) and/.exec(setAside[0]?.sentence ?? '') ?? [];
    expect(Date.now() - Date.parse(since)).toBeLessThan(60_000);
    await lost.stop();
    // A damaged memory is no memory: nothing is told, and nothing breaks.
    await writeFile(file, 'torn');
    expect((await begin()).possibleGaps()).toBe(0);
  });

  test('what cannot be read, and what nobody is known for, is set aside and acknowledged', async () => {
    const broker = await startMosquitto();
    undo.push(broker.stop);
    const first = subscribe(broker.port, { topic: '#' });
    await first.subscribed();
    const say = async (topic: string, text: string, more: string[] = []) =>
      expect(await mosquittoPub(broker.port, ['-q', '1', '-t', topic, '-m', text, ...more])).toMatchObject({
        code: 0,
      });
    await say('readings/attic', 'not json');
    await say('readings/cellar/desk', pack(1));
    await say('weather', '{}');
    await say('readings/attic/one', pack(2));
    await stored(1);
    await eventually('three set aside', async () => setAside.length === 3);
    expect(setAside.map(({ reason, gateway, topic }) => [reason, gateway, topic])).toEqual(
      expect.arrayContaining([
        ['not-json', 'gateway-attic', 'readings/attic'],
        ['unknown-gateway', null, 'readings/cellar/desk'],
        ['unknown-gateway', null, 'weather'],
      ]),
    );
    await first.subscriber.stop();
    const second = subscribe(broker.port, { topic: '#' });
    await say('readings/attic', pack(3));
    await stored(2);
    expect(second.pipeline.tally().received).toBe(1);
  });

  test('one gateway can own a whole broker, whatever its topics', async () => {
    const broker = await startMosquitto();
    undo.push(broker.stop);
    const { subscribed } = subscribe(broker.port, { topic: 'house/+/climate', gateway: 'attic' });
    await subscribed();
    await mosquittoPub(broker.port, ['-q', '1', '-t', 'house/hall/climate', '-m', pack(1)]);
    await stored(1);
  });

  test('what a 3.1.1 broker has retained does not pass for a reading of now', async () => {
    const broker = await startMosquitto();
    undo.push(broker.stop);
    const timeless = '[{"n":"desk","u":"%RH","v":40}]';
    await mosquittoPub(broker.port, ['-q', '1', '-r', '-t', 'readings/attic', '-m', timeless]);
    const { pipeline } = subscribe(broker.port, { protocolVersion: 4 });
    await eventually('it came', async () => pipeline.tally().refused.retain === 1);
    expect(await held()).toEqual([]);
  });

  test('somebody else under the same client id is told', async () => {
    const broker = await startMosquitto();
    undo.push(broker.stop);
    subscribe(broker.port);
    subscribe(broker.port);
    await eventually(
      'told',
      async () => setAside.some(({ reason }) => reason === 'shared-client-id'),
      30_000,
    );
  });

  test('a wrong password is tried again slowly; a right one gets in', async () => {
    const broker = await startMosquitto(['password_file {folder}/passwords'], (own) => {
      spawnSync('mosquitto_passwd', ['-c', '-b', path.join(own, 'passwords'), 'watch', 'right']);
    });
    undo.push(broker.stop);
    const tap = await startWiretap(broker.port, 5);
    undo.push(tap.stop);
    const wrong = subscribe(tap.port, { user: 'watch', password: 'wrong' }).subscriber;
    await eventually('refused', async () =>
      tap.connections.flat().some(({ packet }) => packet.cmd === 'connack'),
    );
    expect(wrong.connected()).toBe(false);
    const right = subscribe(broker.port, { user: 'watch', password: 'right' }).subscriber;
    await eventually('let in', async () => right.connected());
  });

  test.skipIf(!hasProgram('openssl'))(
    'TLS with a client certificate; without one, nobody comes in',
    async () => {
      const broker = await startMosquitto(
        [
          'allow_anonymous true',
          'cafile {folder}/ca.pem',
          'certfile {folder}/server.pem',
          'keyfile {folder}/server.key',
          'require_certificate true',
        ],
        makeCertificates,
      );
      undo.push(broker.stop);
      const read = (name: string) => readFile(path.join(broker.folder, name));
      const url = `mqtts://127.0.0.1:${broker.port}`;
      const ca = await read('ca.pem');
      const { subscribed } = subscribe(broker.port, {
        ...{ url, ca, certificate: await read('client.pem'), key: await read('client.key') },
      });
      await subscribed();
      const stranger = subscribe(broker.port, { url, ca, clientId: 'stranger' }).subscriber;
      const tls = ['--cafile', 'ca.pem', '--cert', 'client.pem', '--key', 'client.key'].map((word) =>
        word.startsWith('--') ? word : path.join(broker.folder, word),
      );
      expect(
        await mosquittoPub(broker.port, ['-q', '1', ...tls, '-t', 'readings/attic', '-m', pack(1)]),
      ).toMatchObject({ code: 0 });
      await stored(1);
      expect(stranger.connected()).toBe(false);
    },
  );

  test('the service itself collects from the broker its settings name', async () => {
    const broker = await startMosquitto();
    undo.push(broker.stop);
    const own = temporaryFolder();
    undo.push(async () => own.remove());
    addGateway(own.path, 'attic');
    const service = await startService(own.path, { BROKER_URL: `mqtt://127.0.0.1:${broker.port}` });
    undo.push(() => service.kill('SIGTERM'));
    await eventually('it is connected', async () =>
      service.log.some(({ msg }) => msg === 'collecting from the broker'),
    );
    await mosquittoPub(broker.port, ['-q', '1', '-t', 'readings/attic', '-m', pack(1, 'shelf')]);
    await eventually('the sensor is seen', async () =>
      (await (await fetch(`${service.url}/api/sensors`)).text()).includes('"shelf"'),
    );
  });

  test('two collectors share the load; one goes, the other carries on, and each reading stands once', async () => {
    const broker = await startMosquitto();
    undo.push(broker.stop);
    const shared = (clientId: string) => subscribe(broker.port, { clientId, group: 'collectors' });
    const [one, two] = [shared('one'), shared('two')];
    await Promise.all([one.subscribed(), two.subscribed()]);
    await publishAll(broker.port, 0, 2_000);
    await stored(2_000);
    for (const { pipeline } of [one, two]) expect(pipeline.tally().stored).toBeGreaterThan(100);
    await one.subscriber.stop();
    await publishAll(broker.port, 2_000, 3_000);
    // Some went to the session of the one that is gone; they wait there for it.
    shared('one');
    await stored(3_000);
  });
});
