/** What a worker heard reaches the service: real mosquitto, InfluxDB, service and worker, each a process of its own. */
import path from 'node:path';
import Database from 'better-sqlite3';
import mqtt from 'mqtt';
import { afterEach, describe, expect, test } from 'vitest';
import { gatherHeard, type Heard } from '../../ingest/heard.ts';
import { api } from '../support/api.ts';
import { type RunningInflux, startInflux } from '../support/influxd.ts';
import { hasMosquitto, startMosquitto } from '../support/mosquitto.ts';
import {
  addGateway,
  eventually,
  hasProgram,
  manage,
  type RunningService,
  startService,
  temporaryFolder,
} from '../support/service.ts';
import { startWorker } from '../support/worker.ts';

const able = hasProgram('influxd') && hasMosquitto();
const WORKER_TOKEN = 'a-token-the-workers-share';
const hourMs = 3_600_000;

const undo: (() => unknown)[] = [];
afterEach(async () => {
  for (const one of undo.splice(0).reverse()) await one();
});

/** The service, and no broker of its own that anybody speaks to. */
async function house(): Promise<{
  service: RunningService;
  engine: RunningInflux;
  folder: string;
  token: string;
}> {
  const folder = temporaryFolder();
  undo.push(folder.remove);
  const { token } = addGateway(folder.path, 'attic');
  addGateway(folder.path, 'cellar');
  const engine = await startInflux();
  undo.push(engine.stop);
  const service = await startService(folder.path, {
    ...{ READINGS_URL: `${engine.origin}/crownwatch`, WORKER_TOKEN },
  });
  undo.push(() => service.kill('SIGTERM'));
  return { service, engine, folder: folder.path, token };
}

describe.skipIf(!able)('a worker that collects alone', () => {
  test('one name on two gateways and a clock an hour behind are seen in what only a worker collects', async () => {
    const { service, engine, folder } = await house();
    const broker = await startMosquitto();
    undo.push(broker.stop);
    const worker = await startWorker({
      ...{ READINGS_URL: `${engine.origin}/crownwatch`, WORKER_TOKEN, SERVICE_URL: service.url },
      ...{ BROKER_URL: `mqtt://127.0.0.1:${broker.port}`, BROKER_GROUP: 'all', BROKER_CLIENT_ID: 'one' },
    });
    undo.push(() => worker.kill('SIGKILL'));
    const publisher = await mqtt.connectAsync(`mqtt://127.0.0.1:${broker.port}`);
    undo.push(() => publisher.endAsync());
    const client = api(service.url);
    const sensorsNow = async () => {
      const { sensors } = await client.sensors();
      return new Map(sensors.map(({ urn, signs }) => [urn, signs.join(' ')]));
    };
    const say = (by: string, urn: string, timeMs: number) =>
      publisher.publishAsync(
        `readings/${by}`,
        JSON.stringify([{ n: urn, u: '%RH', v: 45, t: timeMs / 1_000 }]),
        { qos: 1 },
      );
    for (let at = 0; at < 8; at += 1) {
      const nowMs = Date.now();
      await say('attic', 'good', nowMs - 1_000);
      await say('attic', 'late', nowMs - hourMs - 5_000 + at);
      await say(at % 2 === 0 ? 'attic' : 'cellar', 'twin', nowMs - 1_000);
    }
    await eventually('the service sees the sensors', async () => (await sensorsNow()).size === 3);
    // An orderly end reports what is left.
    expect(await worker.kill('SIGTERM')).toBe(0);
    const signs = await eventually('both signs', async () => {
      const now = await sensorsNow();
      return now.get('twin') !== '' && now.get('late') !== '' && now;
    });
    expect(signs.get('twin')).toContain('It comes by attic and cellar.');
    expect(signs.get('late')).toContain('another time zone');
    expect(signs.get('good')).toBe('');
    // What was noted of a gateway does not outlive it, nor does it hold up what is heard of others.
    expect(manage(folder, ['gateway', 'remove', 'cellar']).code).toBe(0);
    await eventually('the sign is gone', async () => (await sensorsNow()).get('twin') === '');
  }, 120_000);

  test('the door takes no more than it is for, and says what is wrong with it', async () => {
    const { service, token } = await house();
    const post = async (body: unknown, token = WORKER_TOKEN, clockMs = Date.now()) => {
      const answer = await fetch(`${service.url}/api/worker/heard`, {
        method: 'POST',
        headers: { authorization: `Bearer ${token}`, 'content-type': 'application/json' },
        body: JSON.stringify(Array.isArray(body) ? { nowMs: clockMs, heard: body } : body),
      });
      return { status: answer.status, text: await answer.text() };
    };
    const nowMs = Date.now();
    const one: Heard = {
      ...{ gateway: 'nobody', sensor: 'desk', firstMs: nowMs, lastMs: nowMs, messages: 9 },
      leastAgeMs: hourMs,
    };
    expect((await post([one], 'a-token-of-somebody-else')).status).toBe(401);
    for (const [body, words] of [
      [{}, 'heard: is missing'],
      [{ heard: [] }, 'nowMs: is missing'],
      [[{ ...one, sensor: '' }], 'heard.0.sensor'],
      [[{ ...one, sensor: '<script>' }], 'heard.0.sensor'],
      [[{ ...one, messages: 0 }], 'heard.0.messages: must be at least 1'],
      [[{ ...one, lastMs: 'now' }], 'heard.0.lastMs'],
      [Array.from({ length: 1_001 }, () => one), 'heard: must be at most 1000'],
    ] as const) {
      const { status, text } = await post(body);
      expect([status, text]).toEqual([400, expect.stringContaining(words)]);
    }
    // A gateway nobody knows is taken and forgotten; what stands beside it in the same report is written.
    const posted = await fetch(`${service.url}/api/readings`, {
      method: 'POST',
      headers: { authorization: `Bearer ${token}` },
      body: JSON.stringify([{ n: 'desk', u: '%RH', v: 45 }]),
    });
    expect(posted.status).toBe(200);
    const cellar = await fetch(`${service.url}/api/worker/gateways?name=cellar`, {
      headers: { authorization: `Bearer ${WORKER_TOKEN}` },
    });
    const { id } = (await cellar.json()) as { id: string };
    expect(await post([one, { ...one, gateway: id, lastMs: nowMs + 9e9 }])).toEqual({
      ...{ status: 200, text: '{"noted":2}' },
    });
    await eventually('it is noted', async () => {
      const text = await (await fetch(`${service.url}/api/sensors`)).text();
      return text.includes('It comes by attic and cellar.');
    });
    // A worker whose clock is two hours behind: its sensors' are not.
    const behindMs = 2 * hourMs;
    const late = {
      ...one,
      gateway: id,
      sensor: 'shelf',
      firstMs: nowMs - behindMs,
      lastMs: nowMs - behindMs,
    };
    const shelf = await fetch(`${service.url}/api/readings`, {
      method: 'POST',
      headers: { authorization: `Bearer ${token}` },
      body: JSON.stringify([{ n: 'shelf', u: '%RH', v: 45 }]),
    });
    expect(shelf.status).toBe(200);
    expect(
      (await post([{ ...late, leastAgeMs: -behindMs }], WORKER_TOKEN, Date.now() - behindMs)).status,
    ).toBe(200);
    const signsOf = async (urn: string) => {
      const { sensors } = (await (await fetch(`${service.url}/api/sensors`)).json()) as {
        sensors: { urn: string; signs: string[] }[];
      };
      return sensors.find((sensor) => sensor.urn === urn)?.signs.join(' ') ?? '';
    };
    const shelfSigns = await eventually('noted too', async () => await signsOf('shelf'));
    expect(shelfSigns).toContain('It comes by attic and cellar.');
    expect(shelfSigns).not.toContain('clock');
    expect(service.log.filter(({ level }) => Number(level) >= 50)).toEqual([]);
  }, 120_000);
});

test.skipIf(!able)(
  'what a worker cannot read is set aside at the service however large or many, and nothing comes for ever',
  async () => {
    const { service, engine, folder } = await house();
    const broker = await startMosquitto();
    undo.push(broker.stop);
    const work = async () => {
      const worker = await startWorker({
        ...{ READINGS_URL: `${engine.origin}/crownwatch`, WORKER_TOKEN, SERVICE_URL: service.url },
        ...{ BROKER_URL: `mqtt://127.0.0.1:${broker.port}`, BROKER_GROUP: 'all', BROKER_CLIENT_ID: 'one' },
      });
      undo.push(() => worker.kill('SIGKILL'));
      return worker;
    };
    const worker = await work();
    const publisher = await mqtt.connectAsync(`mqtt://127.0.0.1:${broker.port}`);
    undo.push(() => publisher.endAsync());
    const publish = (payload: string | Buffer, topic = 'readings/attic') =>
      publisher.publishAsync(topic, payload, { qos: 1 });
    for (const topic of ['readings/.', 'readings/..', 'readings/../..']) await publish('[]', topic);
    // Some that hardly one request holds, or none; some that only together are too many; many that are small.
    for (const bytes of [5_000_000, 12_000_000]) await publish(Buffer.alloc(bytes, 'x'));
    for (let at = 0; at < 4; at += 1) await publish(Buffer.alloc(900_000, 'y'));
    await Promise.all(Array.from({ length: 3_000 }, () => publish('no reading')));
    await publish(JSON.stringify([{ n: 'desk', u: '%RH', v: 45 }]));
    const tallies = async () => {
      const { sensors, refused } = (await (await fetch(`${service.url}/api/sensors`)).json()) as {
        sensors: { urn: string }[];
        refused: { reason: string; count: number }[];
      };
      return {
        sensors: sensors.length,
        counts: new Map(refused.map(({ reason, count }) => [reason, count])),
      };
    };
    await eventually(
      'all are told, and the reading behind them is stored',
      async () => {
        const { sensors, counts } = await tallies();
        // What a busy machine answers too late is delivered again, and counted again.
        const [unread = 0, nobody = 0] = [counts.get('not-json'), counts.get('unknown-gateway')];
        return sensors === 1 && unread >= 3_006 && nobody >= 3;
      },
      60_000,
    );
    expect(await worker.kill('SIGTERM')).toBe(0);
    // All of it was acknowledged: nothing of it is delivered to whoever comes next.
    const before = await tallies();
    await work();
    await publish(JSON.stringify([{ n: 'shelf', u: '%RH', v: 45 }]));
    await eventually('the next reading', async () => (await tallies()).sensors === 2, 60_000);
    expect((await tallies()).counts).toEqual(before.counts);
    const records = new Database(path.join(folder, 'records.db'), { readonly: true });
    const kept = records
      .prepare(
        'select sentence, length(payload) as bytes from refused where length(payload) > 1000000 order by bytes',
      )
      .all() as { sentence: string; bytes: number }[];
    records.close();
    expect([...new Set(kept.map(({ bytes }) => bytes))]).toEqual([5_000_000, 8_000_000]);
    expect(kept[0]?.sentence).not.toContain('are kept');
    expect(kept.at(-1)?.sentence).toContain('Of its 12000000 bytes the first 8000000 are kept.');
  },
  240_000,
);

test.skipIf(!able)(
  'where only workers collect, one of them watches the broker; when it is killed the other does',
  async () => {
    const { service, engine } = await house();
    const broker = await startMosquitto([
      ...['allow_anonymous true', 'sys_interval 1'],
      ...['persistence true', 'persistence_location {folder}/'],
    ]);
    undo.push(broker.stop);
    const work = async (BROKER_CLIENT_ID: string) => {
      const worker = await startWorker({
        ...{ READINGS_URL: `${engine.origin}/crownwatch`, WORKER_TOKEN, SERVICE_URL: service.url },
        ...{ BROKER_URL: `mqtt://127.0.0.1:${broker.port}`, BROKER_GROUP: 'all', BROKER_CLIENT_ID },
      });
      undo.push(() => worker.kill('SIGKILL'));
      return worker;
    };
    /** What was kept last by whoever watches: the broker's uptime, the time of its start. */
    const kept = async (what: 'uptime' | 'start'): Promise<number> => {
      const name = encodeURIComponent(`${what} of 127.0.0.1:${broker.port}`);
      const answer = await fetch(`${service.url}/api/worker/memory?name=${name}`, {
        headers: { authorization: `Bearer ${WORKER_TOKEN}` },
      });
      return Number(await answer.json());
    };
    const one = await work('one');
    const two = await work('two');
    const told = async () => {
      const messages = (await (await fetch(`${service.url}/api/set-aside`)).json()) as { sentence: string }[];
      return messages.filter(({ sentence }) => sentence.includes('was started again')).length;
    };
    const says = 'listening to what the broker says of itself';
    await eventually('it knows since when the broker runs', async () => (await kept('uptime')) > 0, 60_000);
    const [watches, waits] = one.said(says) > 0 ? [one, two] : [two, one];
    const startedMs = await kept('start');
    await broker.restart('SIGTERM');
    await eventually('told', async () => (await told()) === 1, 60_000);
    // Told first and kept then: killed in between, the other would tell it once more.
    await eventually('kept', async () => (await kept('start')) > startedMs);
    expect([watches.said(says), waits.said(says)]).toEqual([1, 0]);
    await watches.kill('SIGKILL');
    // Before the other listens: what it keeps comes once in a minute.
    const keptS = await kept('uptime');
    await eventually('the other listens', async () => waits.said(says) > 0, 60_000);
    await eventually('and knows as much', async () => (await kept('uptime')) > keptS, 60_000);
    await broker.restart('SIGTERM');
    await eventually('told by the other', async () => (await told()) === 2, 60_000);
  },
  300_000,
);

test('what could not be reported goes with the next report, together with what came meanwhile', async () => {
  const reported: (readonly Heard[])[] = [];
  let down = true;
  const hearsay = gatherHeard(async (batch) => {
    if (down) throw new Error('the service is away');
    reported.push(batch);
  }, 1e9);
  const gateway = { id: 'g', organisation: 'o', name: 'attic' };
  const reading = (sensor: string, timeMs: number) => ({
    organisation: 'o',
    sensor,
    timeMs,
    humidityPct: 45,
  });
  hearsay.heard(gateway, [reading('desk', 900), reading('desk', 800), reading('shelf', 700)], 1_000);
  await hearsay.stop();
  expect(reported).toEqual([]);
  down = false;
  hearsay.heard(gateway, [reading('desk', 1_950)], 2_000);
  await hearsay.stop();
  await hearsay.stop();
  expect(reported).toEqual([
    [
      {
        ...{ gateway: 'g', sensor: 'desk', firstMs: 1_000, lastMs: 2_000, messages: 2 },
        leastAgeMs: 50,
      },
      { gateway: 'g', sensor: 'shelf', firstMs: 1_000, lastMs: 1_000, messages: 1, leastAgeMs: 300 },
    ],
  ]);
});
