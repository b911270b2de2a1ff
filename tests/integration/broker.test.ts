/** The embedded broker, spoken to by Debian's mosquitto_pub and by a client without manners. */
import { connect } from 'node:net';
import fc from 'fast-check';
import mqttPacket from 'mqtt-packet';
import { afterEach, beforeEach, describe, expect, test } from 'vitest';
import { startBroker } from '../../ingest/index.ts';
import {
  connectAs,
  gateways,
  mosquittoPub,
  openWire,
  organisation,
  publish,
  type Stand,
  startStand,
  until,
} from './broker-stand.ts';

let stand: Stand;
beforeEach(async () => {
  stand = await startStand();
});
afterEach(() => stand.stop());

const timeMs = Date.UTC(2026, 0, 15, 12);
const pack = (v: number, sensor = 'urn:dev:mac:02a1', atMs = timeMs) => [
  { n: sensor, u: '%RH', v, t: atMs / 1000 },
];
const reading = async (sensor: string) =>
  (await stand.store.read({ organisation, sensor }, 0, 9e12)).humidityPct;

describe('mosquitto_pub', () => {
  test.each(['0', '1', '2'])('publishes a pack with QoS %s and the reading is on the shelf', async (qos) => {
    const { code, output } = await mosquittoPub(stand.broker.port, [
      ...['-q', qos, '-t', 'readings/attic', '-m', JSON.stringify(pack(43.21))],
    ]);
    expect([code, output]).toEqual([0, '']);
    // QoS 0 has no answer to wait for.
    await until(() => stand.pipeline.tally().stored === 1);
    expect(await reading('urn:dev:mac:02a1')).toEqual([43.21]);
  });

  test('publishes below its own topic, which names a sensor that has no name', async () => {
    await mosquittoPub(stand.broker.port, [
      '-q',
      '1',
      '-t',
      'readings/attic/desk',
      '-m',
      '[{"n":"humidity","u":"%RH","v":44}]',
    ]);
    expect(await reading('attic/desk')).toEqual([44]);
  });

  test('with a wrong password is refused, counted, and nothing of the password is kept', async () => {
    const { code, output } = await mosquittoPub(stand.broker.port, [
      ...[
        '-u',
        'attic',
        '-P',
        'open-sesame',
        '-q',
        '1',
        '-t',
        'readings/attic',
        '-m',
        JSON.stringify(pack(43)),
      ],
    ]);
    expect(code).not.toBe(0);
    expect(output).toMatch(/bad user name or password/);
    expect(stand.pipeline.tally().refused['wrong-password']).toBe(1);
    await until(() => stand.setAside.length === 1);
    expect(stand.setAside[0]).toMatchObject({
      reason: 'wrong-password',
      gateway: null,
      payload: new Uint8Array(),
    });
    expect(JSON.stringify(stand.setAside)).not.toContain('sesame');
    expect(stand.pipeline.tally().received).toBe(0);
  });

  test.each([
    'readings/cellar',
    'readings/attics',
    'readings',
    'elsewhere',
    '$SYS/x/new/clients',
    'readings/attic\u00e9/x',
  ])('a publish to %s, not its own, is set aside whole and acknowledged', async (topic) => {
    const message = JSON.stringify(pack(43));
    const { code } = await mosquittoPub(stand.broker.port, ['-q', '1', '-t', topic, '-m', message]);
    expect(code).toBe(0);
    expect(stand.setAside).toHaveLength(1);
    expect(stand.setAside[0]).toMatchObject({
      reason: 'other-topic',
      topic,
      organisation,
      gateway: 'gateway-attic',
    });
    expect(Buffer.from(stand.setAside[0]?.payload ?? []).toString()).toBe(message);
    expect(await reading('urn:dev:mac:02a1')).toEqual([]);
  });

  test('what cannot be read is set aside whole before it is acknowledged; the good records of a pack are kept', async () => {
    const mixed = JSON.stringify([
      ...pack(43),
      { n: 'urn:dev:mac:02a2', u: '%RH', v: 140, t: timeMs / 1000 },
    ]);
    for (const message of ['not json at all', mixed]) {
      expect(
        (await mosquittoPub(stand.broker.port, ['-q', '1', '-t', 'readings/attic', '-m', message])).code,
      ).toBe(0);
    }
    expect(stand.setAside.map(({ reason, payload }) => [reason, Buffer.from(payload).toString()])).toEqual([
      ['not-json', 'not json at all'],
      ['out-of-range', mixed],
    ]);
    expect(await reading('urn:dev:mac:02a1')).toEqual([43]);
    expect(stand.pipeline.tally()).toMatchObject({ received: 2, values: 1, stored: 1, failed: 0 });
  });

  test('a message of five megabytes is cut before it is buffered, and the next one is heard', async () => {
    const big = Buffer.alloc(5_000_000, ' ');
    globalThis.gc?.();
    const before = process.memoryUsage().arrayBuffers;
    let most = 0;
    const watching = setInterval(() => {
      most = Math.max(most, process.memoryUsage().arrayBuffers - before);
    }, 1);
    const { code } = await mosquittoPub(stand.broker.port, ['-q', '1', '-t', 'readings/attic', '-s'], big);
    clearInterval(watching);
    expect(code).not.toBe(0);
    expect(stand.pipeline.tally().refused['too-large']).toBe(1);
    expect(stand.pipeline.tally().received).toBe(0);
    // `big` itself was there before; the broker holds a few chunks of a socket at the most.
    expect(most).toBeLessThan(1_500_000);
    const { code: next } = await mosquittoPub(stand.broker.port, [
      '-q',
      '1',
      '-t',
      'readings/attic',
      '-m',
      JSON.stringify(pack(43)),
    ]);
    expect(next).toBe(0);
  });

  test('the retain flag is counted and ignored; the reading is kept', async () => {
    await mosquittoPub(stand.broker.port, [
      '-q',
      '1',
      '-r',
      '-t',
      'readings/attic',
      '-m',
      JSON.stringify(pack(43)),
    ]);
    expect(await reading('urn:dev:mac:02a1')).toEqual([43]);
    expect(stand.pipeline.tally().refused.retain).toBe(1);
  });

  test('a last will is counted and dropped, and never published', async () => {
    const will = ['--will-topic', 'readings/attic', '--will-payload', JSON.stringify(pack(99))];
    await mosquittoPub(stand.broker.port, [
      '-q',
      '1',
      ...will,
      '-t',
      'readings/attic',
      '-m',
      JSON.stringify(pack(43)),
    ]);
    expect(stand.pipeline.tally().refused.will).toBe(1);

    const rude = await openWire(stand.broker.port);
    rude.send(
      connectAs('attic', {
        will: {
          topic: 'readings/attic',
          payload: Buffer.from(JSON.stringify(pack(99))),
          qos: 1,
          retain: false,
        },
      }),
    );
    await rude.next('connack');
    rude.socket.destroy(); // without DISCONNECT, which is what a will is for
    await until(() => stand.broker.clients() === 0);
    expect(await reading('urn:dev:mac:02a1')).toEqual([43]);
    expect(stand.pipeline.tally()).toMatchObject({ received: 1, refused: { will: 2 } });
  });

  test.each([
    ['mqttv5', /protocol version/i],
    ['mqttv31', /unacceptable protocol version/],
  ])('%s is refused in the protocol’s own words', async (version, words) => {
    const { code, output } = await mosquittoPub(stand.broker.port, [
      ...['-V', version, '-q', '1', '-t', 'readings/attic', '-m', JSON.stringify(pack(43))],
    ]);
    expect(code).not.toBe(0);
    expect(output).toMatch(words);
    expect(stand.pipeline.tally().refused['other-protocol']).toBe(1);
  });
});

describe('a client without manners', () => {
  async function admitted(name = 'attic', more: Partial<mqttPacket.IConnectPacket> = {}) {
    const wire = await openWire(stand.broker.port);
    wire.send(connectAs(name, more));
    expect(await wire.next('connack')).toMatchObject({ returnCode: 0, sessionPresent: false });
    return wire;
  }

  test('subscribing is refused with 128, and nothing is ever delivered', async () => {
    const wire = await admitted();
    wire.send({
      cmd: 'subscribe',
      messageId: 7,
      subscriptions: [
        { topic: '#', qos: 1 },
        { topic: 'readings/attic', qos: 0 },
      ],
    });
    expect(await wire.next('suback')).toMatchObject({ messageId: 7, granted: [128, 128] });
    wire.send(publish('readings/attic', pack(43)));
    await wire.next('puback');
    wire.send({ cmd: 'pingreq' });
    await wire.next('pingresp');
    expect(wire.received.map(({ cmd }) => cmd)).toEqual(['connack', 'suback', 'puback', 'pingresp']);
    expect(stand.pipeline.tally().refused.subscribe).toBe(2);
    wire.socket.destroy();
  });

  test('a session kept over connections (clean = false) holds nothing and delivers nothing', async () => {
    const first = await admitted('attic', { clean: false });
    first.send({ cmd: 'subscribe', messageId: 7, subscriptions: [{ topic: '#', qos: 1 }] });
    await first.next('suback');
    first.socket.destroy();
    await until(() => stand.broker.clients() === 0);
    const other = await admitted('cellar');
    other.send(publish('readings/cellar', pack(43)));
    await other.next('puback');
    const again = await admitted('attic', { clean: false });
    again.send({ cmd: 'pingreq' });
    await again.next('pingresp');
    expect(again.received.map(({ cmd }) => cmd)).toEqual(['connack', 'pingresp']);
    for (const wire of [other, again]) wire.socket.destroy();
  });

  test('one gateway cannot take over another’s connection by its client id', async () => {
    const attic = await admitted('attic', { clientId: 'same' });
    const cellar = await admitted('cellar', { clientId: 'same' });
    attic.send(publish('readings/attic', pack(43)));
    await attic.next('puback');
    expect(stand.broker.clients()).toBe(2);
    // Its own earlier connection it does take over, as MQTT 3.1.1 says [MQTT-3.1.4-2].
    const atticAgain = await admitted('attic', { clientId: 'same' });
    await attic.closed;
    for (const wire of [cellar, atticAgain]) wire.socket.destroy();
  });

  test('a message to one of the broker’s own topics steers nothing', async () => {
    const attic = await admitted('attic', { clientId: 'one' });
    const cellar = await admitted('cellar');
    // aedes listens there for other brokers that took a client over, and closes its own.
    cellar.send(publish('$SYS/another/new/clients', 'attic/one'));
    await cellar.next('puback');
    attic.send({ cmd: 'pingreq' });
    await attic.next('pingresp');
    for (const wire of [attic, cellar]) wire.socket.destroy();
  });

  test('a client that sends everything at once, before it is admitted, loses nothing', async () => {
    const wire = await openWire(stand.broker.port);
    const bytes = [mqttPacket.generate(connectAs('attic'))];
    for (let at = 0; at < 500; at += 1) {
      bytes.push(mqttPacket.generate(publish('readings/attic', pack(43, `s${at}`), { messageId: at + 1 })));
    }
    bytes.push(mqttPacket.generate({ cmd: 'pingreq' }));
    wire.socket.write(Buffer.concat(bytes));
    await until(() => wire.received.filter(({ cmd }) => cmd === 'puback').length === 500);
    expect(stand.pipeline.tally()).toMatchObject({ received: 500, stored: 500 });
    wire.socket.destroy();
  });

  test('packets that come one byte at a time are packets too', async () => {
    const wire = await openWire(stand.broker.port);
    wire.socket.setNoDelay(true);
    const bytes = Buffer.concat(
      [connectAs('attic'), publish('readings/attic', pack(43))].map((packet) => mqttPacket.generate(packet)),
    );
    for (const byte of bytes) {
      await new Promise((resolve) => wire.socket.write(Buffer.of(byte), resolve));
    }
    await wire.next('puback');
    expect(await reading('urn:dev:mac:02a1')).toEqual([43]);
    wire.socket.destroy();
  });

  test('the largest packet passes, and one byte more is cut', async () => {
    const wire = await admitted();
    // Remaining length of a QoS 1 PUBLISH: topic and its length (2 bytes), message id (2 bytes), payload.
    const payloadBytes = 1_000_000 - 2 - 'readings/attic'.length - 2;
    wire.send(publish('readings/attic', ' '.repeat(payloadBytes)));
    await wire.next('puback');
    wire.send(publish('readings/attic', ' '.repeat(payloadBytes + 1), { messageId: 2 }));
    await wire.closed;
    expect(wire.received.map(({ cmd }) => cmd)).toEqual(['connack', 'puback']);
    expect(stand.pipeline.tally().refused['too-large']).toBe(1);
  });

  test.each([
    [
      'a CONNECT of a megabyte',
      mqttPacket.generate(connectAs('attic', { clientId: 'x'.repeat(60_000) })),
      'too-large',
    ],
    ['a PUBLISH before CONNECT', mqttPacket.generate(publish('readings/attic', pack(43))), null],
    ['a length of five bytes', Buffer.of(0x10, 0xff, 0xff, 0xff, 0xff, 0x7f), null],
    ['a web browser', Buffer.from('GET / HTTP/1.1\r\nHost: x\r\n\r\n'), null],
    ['a reserved packet type', Buffer.of(0xf0, 0x00), null],
  ])('%s before admission is cut', async (_, bytes, reason) => {
    const wire = await openWire(stand.broker.port);
    wire.socket.write(bytes);
    await wire.closed;
    expect(wire.received).toEqual([]);
    expect(stand.pipeline.tally().refused['too-large']).toBe(reason === 'too-large' ? 1 : 0);
  });

  test('any bytes after admission: the process stays, the next client is served', async () => {
    await fc.assert(
      fc.asyncProperty(
        fc.array(
          fc.oneof(
            fc.uint8Array({ minLength: 1, maxLength: 30 }),
            // Well-framed packets of every type with senseless bodies.
            fc
              .tuple(fc.nat(255), fc.uint8Array({ maxLength: 40 }))
              .map(([first, body]) => new Uint8Array([first, body.length, ...body])),
            fc.constant(mqttPacket.generate(publish('readings/attic', pack(43)))),
            fc.constant(mqttPacket.generate(connectAs('attic'))),
            fc.constant(mqttPacket.generate(publish(`${'a/'.repeat(150)}`, 'x'))),
            fc.constant(
              mqttPacket.generate({ cmd: 'unsubscribe', messageId: 3, unsubscriptions: ['#', 'a/+/b'] }),
            ),
            fc.constant(mqttPacket.generate({ cmd: 'pubrel', messageId: 9 })),
          ),
          { minLength: 1, maxLength: 6 },
        ),
        async (pieces) => {
          const wire = await openWire(stand.broker.port);
          // A user of its own each time, so that no past slows it down.
          wire.send(connectAs(`g${fuzzed}`));
          fuzzed += 1;
          await wire.next('connack');
          wire.socket.end(Buffer.concat(pieces));
          await wire.closed;
        },
      ),
      { numRuns: 300 },
    );
    expect(
      (
        await mosquittoPub(stand.broker.port, [
          '-q',
          '1',
          '-t',
          'readings/attic',
          '-m',
          JSON.stringify(pack(43)),
        ])
      ).code,
    ).toBe(0);
    expect(stand.errors).toEqual([]);
  });
  let fuzzed = 0;

  test('a thousand messages side by side are each acknowledged once, and are on the shelf by then', async () => {
    const wire = await admitted();
    const acknowledged = new Set<number>();
    for (let at = 0; at < 1_000; at += 1) {
      wire.send(
        publish('readings/attic', pack(30 + (at % 300) / 10, 'many', timeMs + at * 1_000), {
          messageId: at + 1,
        }),
      );
    }
    for (let at = 0; at < 1_000; at += 1) {
      const puback = await wire.next('puback');
      if (puback.messageId !== undefined) acknowledged.add(puback.messageId);
      if (at % 200 !== 0) continue;
      const { timesMs } = await stand.store.read({ organisation, sensor: 'many' }, 0, 9e12);
      const stored = new Set(timesMs);
      for (const id of acknowledged) expect(stored).toContain(timeMs + (id - 1) * 1_000);
    }
    expect(acknowledged.size).toBe(1_000);
    expect(stand.pipeline.tally()).toMatchObject({
      received: 1_000,
      stored: 1_000,
      duplicates: 0,
      conflicts: 0,
    });
    wire.socket.destroy();
  });

  test('who was dropped again and again is looked at later; another user is not kept waiting', async () => {
    const wrong = { password: Buffer.from('wrong') };
    for (let attempt = 0; attempt < 3; attempt += 1) {
      const wire = await openWire(stand.broker.port);
      wire.send(connectAs('attic', wrong));
      expect(await wire.next('connack')).toMatchObject({ returnCode: 4 });
      await wire.closed;
    }
    // The pauses themselves are tested on a clock of their own, in ingest-patience.test.ts.
    const held = await openWire(stand.broker.port);
    held.send(connectAs('attic', wrong));
    const other = await admitted('cellar');
    expect(held.received).toEqual([]);
    expect(await held.next('connack')).toMatchObject({ returnCode: 4 });
    other.socket.destroy();
  });
});

describe('a store that fails', () => {
  test('is never acknowledged: the connection is dropped, and the message is taken when it comes again', async () => {
    let failing = true;
    const own = await startStand((store) => ({
      ...store,
      append: (batch) => (failing ? Promise.reject(new Error('disk full')) : store.append(batch)),
    }));
    try {
      const first = await openWire(own.broker.port);
      first.send(connectAs('attic'));
      await first.next('connack');
      for (let id = 1; id <= 20; id += 1)
        first.send(publish('readings/attic', pack(43, `s${id}`), { messageId: id }));
      await first.closed;
      expect(first.received.map(({ cmd }) => cmd)).toEqual(['connack']);
      expect(own.pipeline.tally()).toMatchObject({ stored: 0 });
      expect(own.pipeline.tally().failed).toBeGreaterThan(0);

      failing = false;
      const second = await openWire(own.broker.port);
      second.send(connectAs('attic'));
      await second.next('connack');
      second.send(publish('readings/attic', pack(43, 's1'), { messageId: 1, dup: true }));
      await second.next('puback');
      expect((await own.store.read({ organisation, sensor: 's1' }, 0, 9e12)).humidityPct).toEqual([43]);
      second.socket.destroy();
    } finally {
      await own.stop();
    }
  });

  test('neither is a message that can be neither stored nor set aside', async () => {
    const own = await startStand();
    try {
      own.setAside.push = () => {
        throw new Error('disk full');
      };
      const wire = await openWire(own.broker.port);
      wire.send(connectAs('attic'));
      await wire.next('connack');
      wire.send(publish('readings/attic', 'not json'));
      await wire.closed;
      expect(wire.received.map(({ cmd }) => cmd)).toEqual(['connack']);
    } finally {
      await own.stop();
    }
  });
});

test('strangers who say nothing cannot keep others out: the one who waited longest goes', async () => {
  const own = await startStand();
  const strangers = [];
  for (let count = 0; count < 500; count += 1) strangers.push(await openWire(own.broker.port));
  const [first, ...others] = strangers;
  const wire = await openWire(own.broker.port);
  wire.send(connectAs('attic'));
  expect(await wire.next('connack')).toMatchObject({ returnCode: 0 });
  await first?.closed;
  expect(others.filter(({ socket }) => socket.destroyed)).toEqual([]);
  await own.stop();
});

test('a fault within a hook costs the connection, not the process', async () => {
  const pipeline = {
    ...stand.pipeline,
    refuse: () => {
      throw new Error('a fault of ours');
    },
  };
  const broker = await startBroker({ host: '127.0.0.1', port: 0, gateways, pipeline });
  const will = { topic: 'x', payload: Buffer.from('x'), qos: 0 as const, retain: false };
  const faulty = await openWire(broker.port);
  faulty.send(connectAs('attic', { will }));
  await faulty.closed;
  const next = await openWire(broker.port);
  next.send(connectAs('cellar'));
  expect(await next.next('connack')).toMatchObject({ returnCode: 0 });
  await broker.stop();
});

test('a port in use is one clear sentence', async () => {
  const { port } = stand.broker;
  const again = startBroker({ host: '127.0.0.1', port, gateways, pipeline: stand.pipeline });
  await expect(again).rejects.toThrow(`The MQTT port ${port} on 127.0.0.1 is in use by another program.`);
});

test('gateways that cannot be looked up refuse nobody for good: CONNACK says unavailable', async () => {
  const broker = await startBroker({
    host: '127.0.0.1',
    port: 0,
    gateways: {
      byPassword: () => Promise.reject(new Error('the records are locked')),
      byName: () => Promise.reject(new Error('the records are locked')),
    },
    pipeline: stand.pipeline,
  });
  const wire = await openWire(broker.port);
  wire.send(connectAs('attic'));
  expect(await wire.next('connack')).toMatchObject({ returnCode: 3 });
  expect(stand.pipeline.tally().refused['wrong-password']).toBe(0);
  await broker.stop();
});

test('stopping ends every connection, also those that are silent or do not read', async () => {
  const own = await startStand();
  const silent = connect(own.broker.port, '127.0.0.1');
  const wire = await openWire(own.broker.port);
  wire.send(connectAs('attic'));
  await wire.next('connack');
  const silentClosed = new Promise((resolve) => silent.once('close', resolve));
  silent.on('error', () => {});
  await own.stop();
  await Promise.all([silentClosed, wire.closed]);
});
