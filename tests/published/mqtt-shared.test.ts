/**
 * Shared subscriptions as MQTT 5.0 says them, section 4.8.2 (rules and its own examples, from memory of the text), and as
 * a broker that is not ours understands them: Debian's mosquitto.
 */
import mqtt from 'mqtt';
import { afterEach, describe, expect, test } from 'vitest';
import { filterForm, shareForm, subscriptionTo } from '../../ingest/index.ts';
import { hasMosquitto, startMosquitto } from '../support/mosquitto.ts';
import { eventually } from '../support/service.ts';

const undo: (() => unknown)[] = [];
afterEach(async () => {
  for (const one of undo.splice(0).reverse()) await one();
});

// $share/{ShareName}/{filter}; the examples of the section.
test.each([
  ['consumer1', 'sport/tennis/+', '$share/consumer1/sport/tennis/+'],
  ['consumer2', 'sport/tennis/+', '$share/consumer2/sport/tennis/+'],
  ['consumer1', '#', '$share/consumer1/#'],
  ['consumer1', '/finance', '$share/consumer1//finance'],
])('%s of %s is %s', (group, topic, filter) => {
  expect(subscriptionTo(topic, group, 5)).toEqual({ filter, options: { qos: 1 } });
});

test('a share name has one character or more and none of / + # (MQTT-4.8.2-1, MQTT-4.8.2-2)', () => {
  for (const name of ['a', 'consumer1', 'the collectors', 'é']) expect(name).toMatch(shareForm);
  for (const name of ['', 'a/b', 'a+', '#', '/', '\0']) expect(name).not.toMatch(shareForm);
});

test('what follows the name is a filter like any other', () => {
  for (const topic of ['sport/tennis/+', '/finance', '#', '+/+', 'a']) expect(topic).toMatch(filterForm);
  for (const topic of ['sport/tennis#', 'sport+', '#/a', 'a/#/b']) expect(topic).not.toMatch(filterForm);
});

test('retained messages are not asked for where that can be said: retain handling 2 of section 3.8.3.1', () => {
  expect(subscriptionTo('readings/#', undefined, 5).options).toEqual({ qos: 1, rh: 2 });
  expect(subscriptionTo('readings/#', undefined, 4).options).toEqual({ qos: 1 });
});

describe.skipIf(!hasMosquitto())('a real broker', () => {
  test('hands each message to one of a group, to each group once, and matches the filter without the prefix', async () => {
    const broker = await startMosquitto();
    undo.push(broker.stop);
    const url = `mqtt://127.0.0.1:${broker.port}`;
    const heard: string[][] = [[], [], [], []];
    for (const [at, [group, topic]] of [
      ['consumer1', '/finance'],
      ['consumer1', '/finance'],
      ['consumer2', '+/finance'],
      ['consumer3', 'finance'],
    ].entries()) {
      const client = await mqtt.connectAsync(url, { protocolVersion: 5 });
      undo.push(() => client.endAsync(true));
      client.on('message', (_topic, payload) => heard[at]?.push(payload.toString()));
      const { filter, options } = subscriptionTo(topic ?? '', group, 5);
      const [granted] = await client.subscribeAsync(filter, options);
      expect(granted?.qos).toBe(1);
    }
    const publisher = await mqtt.connectAsync(url);
    undo.push(() => publisher.endAsync(true));
    const sent = Array.from({ length: 40 }, (_, at) => String(at));
    for (const one of sent) await publisher.publishAsync('/finance', one, { qos: 1 });
    await publisher.publishAsync('finance', 'last', { qos: 1 });
    const [one = [], two = [], other = [], without = []] = heard;
    await eventually(
      'all',
      async () => one.length + two.length >= 40 && other.length >= 40 && without.length >= 1,
    );
    // As many as were sent, and each of them: none twice.
    expect([...one, ...two].toSorted((a, b) => Number(a) - Number(b))).toEqual(sent);
    expect(one.length).toBeGreaterThan(0);
    expect(two.length).toBeGreaterThan(0);
    expect(other).toEqual(sent);
    expect(without).toEqual(['last']);
  });
});
