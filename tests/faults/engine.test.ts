/** What happens to a real InfluxDB behind the real service: killed, frozen, at the end of a slow line. */
import { setTimeout as pause } from 'node:timers/promises';
import { afterEach, describe, expect, test } from 'vitest';
import { openInfluxReadings } from '../../ingest/index.ts';
import { type RunningInflux, startInflux } from '../support/influxd.ts';
import { addGateway, eventually, hasProgram, startService, temporaryFolder } from '../support/service.ts';
import { startSlowLine } from '../support/slow-line.ts';
import { countShelf, tellFault } from './shelf.ts';
import { type Place, Storm, steadily } from './storm.ts';

const full = Boolean(process.env.CROWNWATCH_FULL);
const database = 'crownwatch';

const undo: (() => unknown)[] = [];
afterEach(async () => {
  for (const one of undo.splice(0).reverse()) await one();
});

async function serviceOn(engine: RunningInflux, port?: number): Promise<Place & { url: string }> {
  const folder = temporaryFolder();
  undo.push(folder.remove);
  const { user, password } = addGateway(folder.path, 'attic');
  const origin = port === undefined ? engine.origin : `http://127.0.0.1:${port}`;
  const service = await startService(folder.path, {
    READINGS_URL: `${origin}/${database}`,
    LOG_LEVEL: 'info',
  });
  undo.push(() => service.kill('SIGTERM'));
  return { port: service.mqttPort, user, password, url: service.url };
}

async function begin(): Promise<RunningInflux> {
  const engine = await startInflux();
  undo.push(engine.stop);
  return engine;
}

async function counted(engine: RunningInflux, storm: Storm) {
  const store = await openInfluxReadings({ origin: engine.origin, database });
  const counts = await countShelf(store, storm);
  await store.stop();
  return counts;
}

/**
 * Answers of the engine that were on their way have all come: the service has twice been through what lay before it, and
 * so have we, and no more was acknowledged.
 * @returns how many are acknowledged now
 */
async function settled({ url }: { readonly url: string }, storm: Storm): Promise<number> {
  for (let before = Number.NaN; ; ) {
    for (let times = 0; times < 2; times += 1) expect((await fetch(`${url}/health`)).status).toBe(200);
    if (storm.acknowledged.size === before) return before;
    before = storm.acknowledged.size;
  }
}

describe.skipIf(!hasProgram('influxd'))('InfluxDB behind the service', () => {
  const kills = full ? 20 : 3;
  /** Ten minutes of 2,000 sensors that report every ten seconds; a tenth in `npm test`. */
  const messages = full ? 120_000 : 12_000;
  test(`killed ${kills} times during ${messages} messages`, { timeout: 900_000 }, async () => {
    const engine = await begin();
    const place = await serviceOn(engine);
    const storm = new Storm(steadily, messages);
    const raging = storm.untilAll(() => place);
    for (let kill = 1; kill <= kills; kill += 1) {
      const enough = (messages * kill) / (kills + 1);
      await eventually('enough', async () => storm.acknowledged.size >= enough, 300_000);
      await engine.killAndRestart();
    }
    await raging;
    const counts = await counted(engine, storm);
    tellFault(`kill -9 of InfluxDB, ${kills} times`, counts, `${storm.published} messages`);
    expect(counts.stored).toBe(messages);
  });

  /** Longer than the service waits for an answer. */
  const frozenMs = full ? 60_000 : 12_000;
  test(`frozen for ${frozenMs / 1_000} s`, { timeout: 600_000 }, async () => {
    const engine = await begin();
    const place = await serviceOn(engine);
    const storm = new Storm(steadily, 20_000);
    const raging = storm.untilAll(() => place);
    await eventually('under way', async () => storm.acknowledged.size > 5_000, 300_000);
    engine.signal('SIGSTOP');
    const before = await settled(place, storm);
    await pause(frozenMs);
    const during = storm.acknowledged.size - before;
    // The page still answers while the shelf does not.
    expect((await fetch(`${place.url}/health`)).status).toBe(200);
    engine.signal('SIGCONT');
    await raging;
    const counts = await counted(engine, storm);
    tellFault(
      `InfluxDB frozen (SIGSTOP) for ${frozenMs / 1_000} s`,
      counts,
      `${storm.published} messages, ${during} acknowledged meanwhile`,
    );
    expect([during, counts.stored]).toEqual([0, 20_000]);
  });

  const slowly = full ? 20_000 : 2_000;
  test(`slow lines before and behind the service, ${slowly} messages`, { timeout: 900_000 }, async () => {
    const engine = await begin();
    const behind = await startSlowLine(Number(new URL(engine.origin).port), 64_000);
    undo.push(behind.stop);
    const place = await serviceOn(engine, behind.port);
    const before = await startSlowLine(place.port, 48_000);
    undo.push(before.stop);
    const storm = new Storm(steadily, slowly);
    await storm.untilAll(() => ({ ...place, port: before.port }));
    const counts = await counted(engine, storm);
    const kilobytes = Math.round((before.bytes() + behind.bytes()) / 1_000);
    tellFault(
      'slow lines (48 and 64 kB/s)',
      counts,
      `${storm.published} messages, ${kilobytes} kB over the lines`,
    );
    expect(counts.stored).toBe(slowly);
  });
});
