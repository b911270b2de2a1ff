/** The embedded broker where something fails: the store, the records, the port, a hook, or those who connect. */
import { connect } from 'node:net';
import { describe, expect, test } from 'vitest';
import { startBroker } from '../../ingest/index.ts';
import {
  connectAs,
  gateways,
  openWire,
  organisation,
  pack,
  publish,
  standForEach,
  startStand,
} from './broker-stand.ts';

const stand = standForEach();

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
  const first = await openWire(own.broker.port);
  // All at once: one after the other they could take so long that the first are sent away for their silence.
  const others = await Promise.all(Array.from({ length: 499 }, () => openWire(own.broker.port)));
  const wire = await openWire(own.broker.port);
  wire.send(connectAs('attic'));
  expect(await wire.next('connack')).toMatchObject({ returnCode: 0 });
  await first.closed;
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
