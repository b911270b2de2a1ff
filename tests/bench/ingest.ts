/**
 * Speed of ingest, beside bare better-sqlite3 on the same disk in the same run. Ratios carry over to other machines;
 * the figures beside them do not.
 *
 * - bulk: appending batches of one series, with identity, counts, roll-ups and changes, against inserting the same rows
 *   into a bare table in transactions of the same size. At least 0.3 of it.
 * - durable messages: QoS 1 over real sockets, acknowledged after the commit, against a loop that commits each reading
 *   by itself (one flush to the disk each), which is what acknowledging costs without groups. At least 3 times of it.
 * - drain: 100,000 messages that wait in a real broker (mosquitto), taken, stored and acknowledged, against the client
 *   library taking and acknowledging them alone. At least 0.25 of it.
 */
import { once } from 'node:events';
import { mkdtempSync, rmSync } from 'node:fs';
import { connect } from 'node:net';
import { tmpdir } from 'node:os';
import path from 'node:path';
import { isMainThread, parentPort, Worker, workerData } from 'node:worker_threads';
import Database from 'better-sqlite3';
import mqttPacket from 'mqtt-packet';
import { createPipeline, openReadings, type Reading, startBroker } from '../../ingest/index.ts';
import { drain } from '../support/drain.ts';
import { hasMosquitto } from '../support/mosquitto.ts';

const series = 36;
const perBatch = 8_000;
const batches = 4;
const connections = 8;
const perConnection = 10_000;
const window = 1_000;
const startMs = Date.UTC(2025, 0, 1);

const folder = (): string => mkdtempSync(path.join(tmpdir(), 'crownwatch-bench-'));
const whole = (value: number): string => Math.round(value).toLocaleString('en');

function bulkReadings(sensor: number, batch: number): Reading[] {
  return Array.from({ length: perBatch }, (_, at) => {
    const number = batch * perBatch + at;
    return {
      organisation: 'o',
      sensor: `urn:dev:mac:02000000${String(sensor).padStart(8, '0')}`,
      timeMs: startMs + number * 600_000,
      humidityPct: 40 + (number % 1_000) / 100,
      temperatureC: 20 + (number % 333) / 100,
    };
  });
}

/** Milliseconds of `work` over every batch; making the readings is not counted. */
async function overBatches(work: (readings: Reading[], sensor: number) => unknown): Promise<number> {
  let spentMs = 0;
  for (let batch = 0; batch < batches; batch += 1) {
    for (let sensor = 0; sensor < series; sensor += 1) {
      const readings = bulkReadings(sensor, batch);
      const fromMs = performance.now();
      await work(readings, sensor);
      spentMs += performance.now() - fromMs;
    }
  }
  return spentMs;
}

function bareTable(file: string) {
  const db = new Database(file);
  db.pragma('journal_mode = WAL');
  db.pragma('synchronous = FULL');
  db.exec(
    'create table reading (series, time, humidity, temperature, battery, primary key (series, time)) without rowid',
  );
  const insert = db.prepare('insert into reading values (?, ?, ?, ?, ?)');
  return { db, insert };
}

async function bulk(): Promise<number> {
  const own = folder();
  const store = openReadings(path.join(own, 'readings.db'));
  const ourMs = await overBatches((readings) => store.append(readings));
  await store.stop();
  const { db, insert } = bareTable(path.join(own, 'bare.db'));
  const write = db.transaction((readings: Reading[], sensor: number) => {
    for (const { timeMs, humidityPct = 0, temperatureC = 0 } of readings) {
      insert.run(sensor, timeMs, Math.round(humidityPct * 100), Math.round(temperatureC * 100), null);
    }
  });
  const bareMs = await overBatches((readings, sensor) => {
    for (let from = 0; from < readings.length; from += 4_000)
      write.immediate(readings.slice(from, from + 4_000), sensor);
  });
  db.close();
  rmSync(own, { recursive: true });
  const readings = series * batches * perBatch;
  const ratio = bareMs / ourMs;
  console.log(
    `bulk append: ${whole((readings / ourMs) * 1000)} readings/s; bare inserts: ${whole((readings / bareMs) * 1000)}/s; ratio ${ratio.toFixed(2)} (at least 0.3)`,
  );
  return ratio;
}

/** Publishes `perConnection` messages over each of several connections and waits for every PUBACK. */
async function publishAll(port: number): Promise<void> {
  await Promise.all(
    Array.from({ length: connections }, async (_, connection) => {
      const packets = Array.from({ length: perConnection }, (_unused, at) => {
        const pack = [{ n: `s${connection}`, u: '%RH', v: 40 + (at % 1_000) / 100, t: startMs / 1000 + at }];
        const messageId = (at % 65_535) + 1;
        const payload = JSON.stringify(pack);
        return mqttPacket.generate({
          cmd: 'publish',
          topic: 'readings/g',
          payload,
          qos: 1,
          messageId,
          dup: false,
          retain: false,
        });
      });
      const socket = connect(port, '127.0.0.1');
      await once(socket, 'connect');
      const clientId = `c${connection}`;
      socket.write(
        mqttPacket.generate({
          cmd: 'connect',
          protocolId: 'MQTT',
          protocolVersion: 4,
          clean: true,
          clientId,
          username: 'g',
          password: Buffer.from('p'),
        }),
      );
      await once(socket, 'data');
      let sent = Math.min(window, packets.length);
      socket.write(Buffer.concat(packets.slice(0, sent)));
      await new Promise<void>((resolve) => {
        let acknowledgedBytes = 0;
        socket.on('data', (chunk) => {
          acknowledgedBytes += chunk.length;
          // A PUBACK is four bytes.
          const acknowledged = Math.floor(acknowledgedBytes / 4);
          const until = Math.min(packets.length, acknowledged + window);
          if (until > sent) socket.write(Buffer.concat(packets.slice(sent, until)));
          sent = Math.max(sent, until);
          if (acknowledged === packets.length) resolve();
        });
      });
      socket.destroy();
    }),
  );
}

async function durable(): Promise<number> {
  const own = folder();
  const store = openReadings(path.join(own, 'readings.db'));
  const pipeline = createPipeline({ store, refused: { setAside: async () => {} } });
  const byPassword = async (name: string) => ({ id: name, organisation: 'o', name });
  const broker = await startBroker({
    host: '127.0.0.1',
    port: 0,
    gateways: { byPassword, byName: byPassword },
    pipeline,
  });
  const worker = new Worker(new URL(import.meta.url), { workerData: broker.port });
  await once(worker, 'online');
  const [ourMs] = (await once(worker, 'message')) as [number];
  const { stored } = pipeline.tally();
  const messages = connections * perConnection;
  if (stored !== messages) throw new Error(`${stored} of ${messages} readings were stored`);
  await broker.stop();
  await pipeline.stop();
  await store.stop();

  const { db, insert } = bareTable(path.join(own, 'bare.db'));
  const commits = 5_000;
  const fromMs = performance.now();
  for (let at = 0; at < commits; at += 1) insert.run(0, startMs + at, 4_000, null, null);
  const perCommitMs = (performance.now() - fromMs) / commits;
  db.close();
  rmSync(own, { recursive: true });
  const ratio = perCommitMs / (ourMs / messages);
  console.log(
    `durable QoS 1 messages: ${whole((messages / ourMs) * 1000)}/s over ${connections} connections; one commit each: ${whole(1000 / perCommitMs)}/s; ratio ${ratio.toFixed(1)} (at least 3)`,
  );
  return ratio;
}

async function drained(): Promise<number> {
  const { messages, bareMs, oursMs } = await drain(100_000);
  const ratio = bareMs / oursMs;
  console.log(
    `drain of an outside broker: ${whole((messages / oursMs) * 1000)} messages/s stored and acknowledged; only acknowledged: ${whole((messages / bareMs) * 1000)}/s; ratio ${ratio.toFixed(2)} (at least 0.25)`,
  );
  return ratio;
}

if (isMainThread) {
  const bulkRatio = await bulk();
  const durableRatio = await durable();
  const drainRatio = hasMosquitto() ? await drained() : 1;
  if (bulkRatio < 0.3 || durableRatio < 3 || drainRatio < 0.25) process.exitCode = 1;
} else {
  const fromMs = performance.now();
  await publishAll(Number(workerData));
  parentPort?.postMessage(performance.now() - fromMs);
}
