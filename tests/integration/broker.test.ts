/** What the embedded broker makes of what gateways send, spoken to by Debian's mosquitto_pub. */
import { describe, expect, test } from 'vitest';
import {
  connectAs,
  mosquittoPub,
  openWire,
  organisation,
  pack,
  standForEach,
  timeMs,
  until,
} from './broker-stand.ts';

const stand = standForEach();

/**
 * As `attic` to its own topic with QoS 1, unless the words say otherwise: what is named twice counts as named last.
 *
 * @param message JSON, unless it is words already
 */
const send = (message: string | object[], words: readonly string[] = []) => {
  const payload = typeof message === 'string' ? message : JSON.stringify(message);
  const usual = ['-q', '1', '-t', 'readings/attic', '-m', payload];
  return mosquittoPub(stand.broker.port, [...usual, ...words]);
};

describe('mosquitto_pub', () => {
  test.each(['0', '1', '2'])('publishes a pack with QoS %s and the reading is on the shelf', async (qos) => {
    const { code, output } = await send(pack(43.21), ['-q', qos]);
    expect([code, output]).toEqual([0, '']);
    // QoS 0 has no answer to wait for.
    await until(() => stand.pipeline.tally().stored === 1);
    expect(await stand.humidityOf('urn:dev:mac:02a1')).toEqual([43.21]);
  });

  test('publishes below its own topic, which names a sensor that has no name', async () => {
    await send([{ n: 'humidity', u: '%RH', v: 44 }], ['-t', 'readings/attic/desk']);
    expect(await stand.humidityOf('attic/desk')).toEqual([44]);
  });

  test('with a wrong password is refused, counted, and nothing of the password is kept', async () => {
    const { code, output } = await send(pack(43), ['-u', 'attic', '-P', 'open-sesame']);
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
    const { code } = await send(message, ['-t', topic]);
    expect(code).toBe(0);
    expect(stand.setAside).toHaveLength(1);
    expect(stand.setAside[0]).toMatchObject({
      reason: 'other-topic',
      topic,
      organisation,
      gateway: 'gateway-attic',
    });
    expect(Buffer.from(stand.setAside[0]?.payload ?? []).toString()).toBe(message);
    expect(await stand.humidityOf('urn:dev:mac:02a1')).toEqual([]);
  });

  test('a gateway whose messages are mapped may publish where its devices do, but not as another', async () => {
    const as = ['-u', 'odd', '-P', 'ddo'];
    const say = (topic: string, rh: number) =>
      send(JSON.stringify({ climate: { rh } }), [...as, '-t', topic]);
    for (const [topic, rh] of [
      ['tele/Green Room/state', 41],
      ['/hall', 42],
      ['readings/odd/desk', 43],
      ['readings/attic', 44],
      ['readings', 45],
      ['$SYS/x', 46],
    ] as const)
      expect((await say(topic, rh)).code).toBe(0);
    expect(await stand.humidityOf('tele/Green_Room/state')).toEqual([41]);
    expect(await stand.humidityOf('hall')).toEqual([42]);
    expect(await stand.humidityOf('odd/desk')).toEqual([43]);
    expect(stand.setAside.map(({ reason, topic }) => [reason, topic])).toEqual([
      ['other-topic', 'readings/attic'],
      ['other-topic', 'readings'],
      ['other-topic', '$SYS/x'],
    ]);
    expect(stand.pipeline.tally()).toMatchObject({ received: 3, stored: 3 });
  });

  test('what cannot be read is set aside whole before it is acknowledged; the good records of a pack are kept', async () => {
    const mixed = JSON.stringify([
      ...pack(43),
      { n: 'urn:dev:mac:02a2', u: '%RH', v: 140, t: timeMs / 1000 },
    ]);
    for (const message of ['not json at all', mixed]) {
      expect((await send(message)).code).toBe(0);
    }
    expect(stand.setAside.map(({ reason, payload }) => [reason, Buffer.from(payload).toString()])).toEqual([
      ['not-json', 'not json at all'],
      ['out-of-range', mixed],
    ]);
    expect(await stand.humidityOf('urn:dev:mac:02a1')).toEqual([43]);
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
    expect((await send(pack(43))).code).toBe(0);
  });

  test('the retain flag is counted and ignored; the reading is kept', async () => {
    await send(pack(43), ['-r']);
    expect(await stand.humidityOf('urn:dev:mac:02a1')).toEqual([43]);
    expect(stand.pipeline.tally().refused.retain).toBe(1);
  });

  test('a last will is counted and dropped, and never published', async () => {
    const will = ['--will-topic', 'readings/attic', '--will-payload', JSON.stringify(pack(99))];
    await send(pack(43), will);
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
    expect(await stand.humidityOf('urn:dev:mac:02a1')).toEqual([43]);
    expect(stand.pipeline.tally()).toMatchObject({ received: 1, refused: { will: 2 } });
  });

  test.each([
    ['mqttv5', /protocol version/i],
    ['mqttv31', /unacceptable protocol version/],
  ])('%s is refused in the protocol’s own words', async (version, words) => {
    const { code, output } = await send(pack(43), ['-V', version]);
    expect(code).not.toBe(0);
    expect(output).toMatch(words);
    expect(stand.pipeline.tally().refused['other-protocol']).toBe(1);
  });
});
