/** The embedded broker, spoken to by a client without manners. */
import fc from 'fast-check';
import mqttPacket from 'mqtt-packet';
import { describe, expect, test } from 'vitest';
import {
  connectAs,
  mosquittoPub,
  openWire,
  organisation,
  pack,
  publish,
  standForEach,
  timeMs,
  until,
} from './broker-stand.ts';

const stand = standForEach();

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
    expect(await stand.humidityOf('urn:dev:mac:02a1')).toEqual([43]);
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
    const after = ['-q', '1', '-t', 'readings/attic', '-m', JSON.stringify(pack(43))];
    expect((await mosquittoPub(stand.broker.port, after)).code).toBe(0);
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
    // There before the last drop, so that nothing but the pause lies between it and the two that ask.
    const [held, other] = [await openWire(stand.broker.port), await openWire(stand.broker.port)];
    for (let attempt = 0; attempt < 3; attempt += 1) {
      const wire = await openWire(stand.broker.port);
      wire.send(connectAs('attic', wrong));
      expect(await wire.next('connack')).toMatchObject({ returnCode: 4 });
      await wire.closed;
    }
    // The pauses themselves are tested on a clock of their own, in ingest-patience.test.ts.
    held.send(connectAs('attic', wrong));
    other.send(connectAs('cellar'));
    expect(await other.next('connack')).toMatchObject({ returnCode: 0 });
    expect(held.received).toEqual([]);
    expect(await held.next('connack')).toMatchObject({ returnCode: 4 });
    other.socket.destroy();
  });
});
