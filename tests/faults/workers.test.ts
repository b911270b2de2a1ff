/**
 * Grown up: a broker, InfluxDB, the service and two workers, all real processes. A worker is killed under load, and
 * then the engine is; every message the broker took is stored once.
 */
import mqtt from 'mqtt';
import { afterEach, expect, test } from 'vitest';
import { openInfluxReadings } from '../../ingest/index.ts';
import { mosquittoPub } from '../integration/broker-stand.ts';
import { startInflux } from '../support/influxd.ts';
import { hasMosquitto, startMosquitto } from '../support/mosquitto.ts';
import { addGateway, eventually, hasProgram, startService, temporaryFolder } from '../support/service.ts';
import { startWorker } from '../support/worker.ts';
import { tellFault } from './shelf.ts';

const able = hasProgram('influxd') && hasMosquitto();
/** More of them by SOAK_MESSAGES. */
const messages = Number(process.env.SOAK_MESSAGES ?? 20_000);
const startMs = Date.UTC(2025, 0, 1);
const WORKER_TOKEN = 'a-token-the-workers-share';

const undo: (() => unknown)[] = [];
afterEach(async () => {
  for (const one of undo.splice(0).reverse()) await one();
});

test.skipIf(!able)(
  'two workers on one shared subscription, one killed under load, then the engine',
  async () => {
    const folder = temporaryFolder();
    undo.push(folder.remove);
    const engine = await startInflux();
    undo.push(engine.stop);
    const broker = await startMosquitto();
    undo.push(broker.stop);
    const READINGS_URL = `${engine.origin}/crownwatch`;
    addGateway(folder.path, 'attic');
    const service = await startService(folder.path, { READINGS_URL, WORKER_TOKEN });
    undo.push(() => service.kill('SIGTERM'));
    const work = (BROKER_CLIENT_ID: string) =>
      startWorker({
        ...{ READINGS_URL, WORKER_TOKEN, SERVICE_URL: service.url, BROKER_CLIENT_ID },
        ...{ BROKER_URL: `mqtt://127.0.0.1:${broker.port}`, BROKER_GROUP: 'collectors' },
      });
    const [one, two] = [await work('one'), await work('two')];
    undo.push(() => two.kill('SIGKILL'));

    const publisher = await mqtt.connectAsync(`mqtt://127.0.0.1:${broker.port}`);
    undo.push(() => publisher.endAsync());
    let taken = 0;
    async function publish(from: number, to: number): Promise<void> {
      for (let at = from; at < to; at += 500) {
        const piece = Array.from({ length: Math.min(500, to - at) }, (_, offset) => {
          const number = at + offset;
          const record = {
            n: 'desk',
            u: '%RH',
            v: (number % 10_000) / 100,
            t: (startMs + number * 1_000) / 1_000,
          };
          return publisher.publishAsync('readings/attic', JSON.stringify([record]), { qos: 1 });
        });
        await Promise.all(piece);
        taken += piece.length;
      }
    }
    const third = Math.ceil(messages / 3);
    await publish(0, third);
    const under = publish(third, 2 * third);
    await eventually('well under way', async () => taken > third * 1.3, 100_000);
    await one.kill('SIGKILL');
    await under;
    // The other carries on.
    const store = await openInfluxReadings({ origin: engine.origin, database: 'crownwatch' });
    undo.push(() => store.stop());
    const ofSensor = async () => (await store.changedSince(null)).series[0]?.id;
    const id = await eventually('its organisation', ofSensor, 100_000);
    const heldNow = async () => (await store.read(id, 0, 9e12)).timesMs.length;
    await eventually('more than a third', async () => (await heldNow()) > third, 100_000);
    // What was handed to the killed one waits in its session.
    const again = await work('one');
    undo.push(() => again.kill('SIGTERM'));
    const last = publish(2 * third, messages);
    await eventually('the last third', async () => taken > 2.3 * third, 100_000);
    await engine.killAndRestart();
    await last;

    await eventually('all', async () => (await heldNow().catch(() => 0)) >= messages, 100_000);
    const { timesMs, humidityPct } = await store.read(id, 0, 9e12);
    expect(new Set(timesMs).size).toBe(messages);
    expect(timesMs).toHaveLength(messages);
    const wrong = timesMs.filter(
      (timeMs, at) => humidityPct[at] !== (((timeMs - startMs) / 1_000) % 10_000) / 100,
    );
    expect(wrong).toEqual([]);
    const stored = new Set(timesMs).size;
    tellFault(
      'two workers, one killed, then the engine',
      { sent: messages, acknowledged: taken, stored, lost: taken - stored, doubled: timesMs.length - stored },
      'acknowledged by the broker',
    );

    // What nobody is known for goes to the service, whole, and is counted there.
    await mosquittoPub(broker.port, ['-q', '1', '-t', 'readings/cellar', '-m', '[]']);
    await mosquittoPub(broker.port, ['-q', '1', '-t', 'readings/attic', '-m', 'not json']);
    await eventually('both refusals', async () => {
      const text = await (await fetch(`${service.url}/api/sensors`)).text();
      return text.includes('unknown-gateway') && text.includes('not-json');
    });
    for (const authorization of ['', 'Bearer another-token-of-length']) {
      const stranger = await fetch(`${service.url}/api/worker/gateways?name=attic`, {
        headers: { authorization },
      });
      expect(stranger.status).toBe(401);
    }
  },
  600_000,
);

test('a worker without its settings says all of them in one sentence, and no secret', async () => {
  const start = startWorker({
    BROKER_URL: 'http://x',
    READINGS_URL: 'ftp://u:secret@x/y',
    LOG_LEVEL: 'loud',
  });
  await expect(start).rejects.toThrow(
    /^These settings cannot be used: BROKER_URL: [^\n]*READINGS_URL: [^\n]*WORKER_TOKEN: [^\n]*LOG_LEVEL: [^\n]*\n$/,
  );
  await expect(startWorker({ READINGS_URL: 'ftp://u:secret@x/y' })).rejects.not.toThrow(/secret/);
});
