/** How fast what waits in a real broker's queue is taken and kept, beside a client that only acknowledges. */
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import path from 'node:path';
import mqtt from 'mqtt';
import { createPipeline, openReadings, startSubscriber } from '../../ingest/index.ts';
import { startMosquitto } from './mosquitto.ts';
import { eventually } from './service.ts';

export interface Drained {
  readonly messages: number;
  readonly oursMs: number;
  /** The client library, acknowledging what it gets and doing nothing with it. */
  readonly bareMs: number;
}

const startMs = Date.UTC(2025, 0, 1);
const session = { clean: false, protocolVersion: 5, properties: { sessionExpiryInterval: 3_600 } } as const;

async function leaveSession(url: string, clientId: string): Promise<void> {
  const client = await mqtt.connectAsync(url, { ...session, clientId });
  await client.subscribeAsync('readings/#', { qos: 1 });
  await client.endAsync();
}

async function fill(url: string, messages: number): Promise<void> {
  const publisher = await mqtt.connectAsync(url);
  for (let from = 0; from < messages; from += 500) {
    await Promise.all(
      Array.from({ length: Math.min(500, messages - from) }, (_, at) => {
        const number = from + at;
        const t = startMs / 1_000 + number;
        const pack = [{ n: `s${number % 36}`, u: '%RH', v: 40 + (number % 1_000) / 100, t }];
        return publisher.publishAsync('readings/g', JSON.stringify(pack), { qos: 1 });
      }),
    );
  }
  await publisher.endAsync();
}

async function drainBare(url: string, messages: number): Promise<number> {
  const fromMs = performance.now();
  const client = mqtt.connect(url, { ...session, clientId: 'bare' });
  let taken = 0;
  await new Promise<void>((resolve) => {
    client.on('message', () => {
      taken += 1;
      if (taken === messages) resolve();
    });
  });
  const spentMs = performance.now() - fromMs;
  await client.endAsync();
  return spentMs;
}

/** @throws Error when not every message was stored */
async function drainOurs(url: string, messages: number): Promise<number> {
  const folder = mkdtempSync(path.join(tmpdir(), 'crownwatch-drain-'));
  const store = openReadings(path.join(folder, 'readings.db'));
  const pipeline = createPipeline({ store, refused: { setAside: async () => {} } });
  const fromMs = performance.now();
  const subscriber = startSubscriber(
    { url, protocolVersion: 5, clientId: 'ours', topic: 'readings/#' },
    { gateways: { byName: async (name) => ({ id: name, organisation: 'o', name }) }, pipeline },
  );
  await eventually('all are stored', async () => pipeline.tally().stored >= messages, 300_000);
  const spentMs = performance.now() - fromMs;
  await subscriber.stop();
  await pipeline.stop();
  await store.stop();
  rmSync(folder, { recursive: true });
  return spentMs;
}

export async function drain(messages: number): Promise<Drained> {
  const broker = await startMosquitto();
  try {
    const url = `mqtt://127.0.0.1:${broker.port}`;
    await leaveSession(url, 'bare');
    await leaveSession(url, 'ours');
    await fill(url, messages);
    return { messages, bareMs: await drainBare(url, messages), oursMs: await drainOurs(url, messages) };
  } finally {
    await broker.stop();
  }
}
