/** The readings' port on a real InfluxDB 1.x, and through the 2.x write API with a proxy in front of the same engine. */
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { createPipeline, openInfluxReadings, type SetAside } from '../../ingest/index.ts';
import { partialWrite } from '../../ingest/store/influx-wire.ts';
import { type Influx2Proxy, startInflux2Proxy } from '../support/influx2-proxy.ts';
import { type RunningInflux, startInflux } from '../support/influxd.ts';
import { hasProgram } from '../support/service.ts';
import { describeTimeSeries } from './time-series.ts';

const token = 'a-token-of-the-test';
const org = 'house';
const able = hasProgram('influxd');

let engine: RunningInflux;
let proxy: Influx2Proxy;
beforeAll(async () => {
  if (!able) return;
  engine = await startInflux();
  proxy = await startInflux2Proxy(engine.origin, token);
});
afterAll(async () => {
  await proxy?.stop();
  await engine?.stop();
});

let places = 0;
const newDatabase = (): string => {
  places += 1;
  return `place ${places}`;
};

describe.skipIf(!able)('InfluxDB', () => {
  describeTimeSeries('InfluxDB 1.x', async () => {
    const database = newDatabase();
    return {
      open: () => openInfluxReadings({ origin: engine.origin, database }),
      remove: async () => void (await engine.ask(`DROP DATABASE "${database}"`)),
    };
  });

  describeTimeSeries('InfluxDB by the 2.x write API', async () => {
    const database = newDatabase();
    await engine.ask(`CREATE DATABASE "${database}"`);
    return {
      open: () => openInfluxReadings({ origin: proxy.origin, database, org, token }),
      remove: async () => void (await engine.ask(`DROP DATABASE "${database}"`)),
    };
  });

  const id = { organisation: 'o', sensor: 's' };
  const nowMs = Date.now();
  const minuteMs = 60_000;

  test('the 2.x path really goes through its write API, and a wrong token is said in one sentence', async () => {
    const database = newDatabase();
    await engine.ask(`CREATE DATABASE "${database}"`);
    const before = proxy.writes();
    const store = await openInfluxReadings({ origin: proxy.origin, database, org, token });
    await store.append([{ ...id, timeMs: nowMs, humidityPct: 41 }]);
    // Readings, then what arrived.
    expect(proxy.writes() - before).toBe(2);
    await store.stop();
    const wrong = openInfluxReadings({ origin: proxy.origin, database, org, token: 'another' });
    await expect(wrong).rejects.toThrow(/^InfluxDB at http:\S+ cannot be used: [^\n]*401[^\n]*\.$/);
  });

  test.each(['1.x', '2.x'])(
    'what is older than the retention is set aside, the rest of the batch stored (%s)',
    async (api) => {
      const database = newDatabase();
      await engine.ask(`CREATE DATABASE "${database}" WITH DURATION 2d`);
      const store = await openInfluxReadings(
        api === '1.x' ? { origin: engine.origin, database } : { origin: proxy.origin, database, org, token },
      );
      const dayMs = 24 * 60 * minuteMs;
      const timesMs = [nowMs, nowMs - 5 * dayMs, nowMs - minuteMs, nowMs - 3 * dayMs];
      const setAside: SetAside[] = [];
      const pipeline = createPipeline({
        store,
        refused: {
          async setAside(batch) {
            setAside.push(...batch);
          },
        },
      });
      const payload = Buffer.from(
        JSON.stringify(timesMs.map((timeMs) => ({ n: 's', u: '%RH', v: 41, t: timeMs / 1000 }))),
      );
      const gateway = { id: 'g', organisation: 'o', name: 'attic' };
      const outcome = await pipeline.accept({ gateway, topic: 'readings/attic', payload, receivedMs: nowMs });
      expect(outcome).toMatchObject({ stored: 2, refused: [{ reason: 'beyond-retention', records: 2 }] });
      expect(setAside).toMatchObject([{ reason: 'beyond-retention', gateway: 'g', payload }]);
      expect((await store.read(id, 0, 9e12)).timesMs).toEqual([nowMs - minuteMs, nowMs]);
      expect(pipeline.tally()).toMatchObject({ values: 2, stored: 2, failed: 0 });
      await pipeline.stop();
      await store.stop();
    },
  );

  test('a fault of the engine is no fault of the readings: they fail and can be sent again', async () => {
    const database = newDatabase();
    const store = await openInfluxReadings({ origin: engine.origin, database });
    // Somebody else wrote a fraction where whole numbers belong.
    await fetch(`${engine.origin}/write?db=${encodeURIComponent(database)}`, {
      method: 'POST',
      body: `reading,sensor=other humidity=41.5 ${nowMs}000000`,
    });
    const batch = [{ ...id, timeMs: nowMs, humidityPct: 41 }];
    await expect(store.append(batch)).rejects.toThrow(/^InfluxDB could not store: .*field type conflict/);
    await engine.ask(`DROP DATABASE "${database}"`);
    await expect(store.append(batch)).rejects.toThrow(/database not found/);
    await engine.ask(`CREATE DATABASE "${database}"`);
    expect(await store.append(batch)).toEqual({ stored: 1, duplicates: 0, conflicts: 0 });
    await store.stop();
  });

  test('kill -9 of the engine under load, ten times: what was acknowledged is there, once', async () => {
    const database = newDatabase();
    const store = await openInfluxReadings({ origin: engine.origin, database });
    const acknowledged = new Set<number>();
    let [sent, failed] = [0, 0];
    let killing = true;
    async function send(): Promise<void> {
      const pending: number[] = [];
      while (killing || pending.length > 0) {
        const number = pending.shift() ?? sent++;
        const reading = { ...id, timeMs: nowMs - number * 1_000, humidityPct: (number % 10_000) / 100 };
        await store.append([reading]).then(
          () => acknowledged.add(number),
          () => {
            failed += 1;
            pending.push(number);
          },
        );
      }
    }
    const senders = Array.from({ length: 50 }, send);
    for (let kill = 0; kill < 10; kill += 1) {
      const enough = acknowledged.size + 200;
      while (acknowledged.size < enough) await new Promise((resolve) => setImmediate(resolve));
      await engine.killAndRestart();
    }
    killing = false;
    await Promise.all(senders);
    const { timesMs, humidityPct } = await store.read(id, 0, 9e12);
    const held = new Map(timesMs.map((timeMs, at) => [(nowMs - timeMs) / 1_000, humidityPct[at]]));
    const lost = [...acknowledged].filter((number) => held.get(number) !== (number % 10_000) / 100);
    console.log(
      `10 kills of influxd: ${sent} sent, ${acknowledged.size} acknowledged, ${held.size} stored, ${failed} times refused and sent again, ${lost.length} lost, ${timesMs.length - held.size} doubled`,
    );
    expect(lost).toEqual([]);
    expect([acknowledged.size, timesMs.length, held.size]).toEqual([sent, sent, sent]);
    expect(failed).toBeGreaterThan(0);
    await store.stop();
  });
});

// The engines' own words: 1.6 as seen here; 2.x from memory of its source ("dropped %d points outside retention policy").
test.each([
  [
    'A 400 Bad Request error occurred: {"error":"partial write: points beyond retention policy dropped=3"}',
    3,
  ],
  ['partial write: dropped 12 points outside retention policy of duration 24h0m0s', 12],
  ['partial write: field type conflict: input field "humidity" is type float dropped=1', null],
  ["unable to parse 'reading': missing fields", null],
])('%s', (message, dropped) => {
  expect(partialWrite(message)?.dropped ?? null).toBe(dropped);
});
