/** The readings' port on a real InfluxDB 1.x, and through the 2.x write API with a proxy in front of the same engine. */
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import {
  createPipeline,
  openInfluxReadings,
  type Reading,
  type SetAside,
  startHourKeeper,
} from '../../ingest/index.ts';
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
}, 120_000);
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

  describeTimeSeries('InfluxDB with its hours kept all the while', async () => {
    const database = newDatabase();
    const place = { origin: engine.origin, database };
    await engine.ask(`CREATE DATABASE "${database}"`);
    const keeper = startHourKeeper(place, { wait: 20 });
    return {
      open: () => openInfluxReadings(place, { longMs: 0 }),
      async remove() {
        await keeper.stop();
        await engine.ask(`DROP DATABASE "${database}"`);
      },
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

  test.each(['1.x', '2.x'])(
    'long ranges are read from kept hours, as far as nothing has arrived since (%s)',
    async (api) => {
      const database = newDatabase();
      await engine.ask(`CREATE DATABASE "${database}"`);
      const place =
        api === '1.x' ? { origin: engine.origin, database } : { origin: proxy.origin, database, org, token };
      const store = await openInfluxReadings(place);
      const hour = 3_600_000;
      const startMs = Math.floor(nowMs / hour) * hour - 60 * 24 * hour;
      const endMs = startMs + 60 * 24 * hour;
      const at = (timeMs: number, humidityPct: number): Reading => ({ ...id, timeMs, humidityPct });
      await store.append(
        Array.from({ length: 60 * 24 * 4 }, (_, number) => at(startMs + number * 900_000, 40 + (number % 7))),
      );
      const year = () => store.buckets(id, startMs + 450_000, endMs, 24 * hour);
      const plain = await year();
      const keeper = startHourKeeper(place);
      await keeper.keep();
      expect(await year()).toEqual(plain);

      // Without its readings the long range is the same, so it came from the hours; a short one is gone.
      const remove = async (untilMs: number) => {
        const [from, until] = [startMs + hour, untilMs].map((ms) => new Date(ms).toISOString());
        const q = `DELETE FROM reading WHERE time >= '${from}' AND time < '${until}'`;
        const answer = await fetch(`${engine.origin}/query?db=${encodeURIComponent(database)}`, {
          method: 'POST',
          body: new URLSearchParams({ q }),
        });
        expect(await answer.json()).toEqual({ results: [{ statement_id: 0 }] });
      };
      await remove(startMs + 30 * 24 * hour);
      expect(await year()).toEqual(plain);
      expect((await store.buckets(id, startMs + hour, startMs + 10 * 24 * hour, hour)).timesMs).toEqual([]);

      // What has arrived since is seen at once, before the hours are kept again, and after.
      await store.append([at(startMs + 40 * 24 * hour + 1, 90)]);
      const changed = await year();
      expect(changed.humidityPct.max[40]).toBe(90);
      expect({ ...changed, humidityPct: null }).toEqual({ ...plain, humidityPct: null });
      await keeper.keep();
      expect(await year()).toEqual(changed);
      await keeper.stop();
      await store.stop();
    },
  );

  test('the newest hours of many series are kept together, each as its own', async () => {
    const database = newDatabase();
    const place = { origin: engine.origin, database };
    await engine.ask(`CREATE DATABASE "${database}"`);
    const [raw, kept] = [await openInfluxReadings(place), await openInfluxReadings(place, { longMs: 0 })];
    const hour = 3_600_000;
    const series = Array.from({ length: 120 }, (_, at) => ({ organisation: 'o', sensor: `s${at}` }));
    await raw.append(
      series.flatMap((one, at) =>
        Array.from({ length: 12 + (at % 5) }, (_, number): Reading => {
          const timeMs = nowMs - number * (600_000 + at * 1_000);
          return number % 3 === 0
            ? { ...one, timeMs, temperatureC: 20 + at / 10 }
            : { ...one, timeMs, humidityPct: 30 + at / 10 + number };
        }),
      ),
    );
    const keeper = startHourKeeper(place);
    await keeper.keep();
    // What the hours say, and nothing else: the readings are gone.
    const before = await Promise.all(
      series.map((one) => raw.buckets(one, nowMs - 24 * hour, nowMs + hour, hour)),
    );
    await fetch(`${engine.origin}/query?db=${encodeURIComponent(database)}`, {
      method: 'POST',
      body: new URLSearchParams({ q: 'DROP MEASUREMENT reading' }),
    });
    const fromMs = Math.floor(nowMs / hour - 24) * hour;
    for (const [at, one] of series.entries()) {
      expect(await kept.buckets(one, fromMs, fromMs + 26 * hour, hour)).toEqual(before[at]);
    }
    expect(before[7]?.humidityPct.count.reduce((sum, count) => sum + count, 0)).toBe(9);
    await keeper.stop();
    await Promise.all([raw.stop(), kept.stop()]);
  });

  test('the journal is pruned; who followed it misses nothing, who was away too long starts over', async () => {
    const database = newDatabase();
    const place = { origin: engine.origin, database };
    const store = await openInfluxReadings(place);
    const keeper = startHourKeeper(place);
    await store.append([{ ...id, timeMs: nowMs - 7_200_000, humidityPct: 41 }]);
    await store.append([{ ...id, sensor: 'other', timeMs: nowMs - 3_600_000, temperatureC: 20 }]);
    const { cursor } = await store.changedSince(null);
    const lines = async () =>
      JSON.stringify(await engine.ask(`SELECT count("from") FROM "${database}"..arrived`));
    expect(await lines()).toContain(',2]');
    // The newest arrival stays, and the hour before it, however long nothing came.
    await keeper.prune(nowMs + 400 * 86_400_000);
    expect(await lines()).toContain(',2]');
    expect((await store.changedSince(cursor)).series).toEqual([]);

    // As if these lines were old: a year from now something arrives.
    const later = (Date.now() + 365 * 86_400_000) * 1e6;
    const tag = Buffer.from(JSON.stringify(['o', 's'])).toString('base64url');
    await fetch(`${engine.origin}/write?db=${encodeURIComponent(database)}`, {
      method: 'POST',
      body: `arrived,sensor=${tag} from=${nowMs}i ${BigInt(later)}`,
    });
    await keeper.prune(nowMs + 365 * 86_400_000);
    expect(await lines()).toContain(',1]');
    const again = await store.changedSince(cursor);
    const told = again.series.toSorted((one, other) => one.id.sensor.localeCompare(other.id.sensor));
    expect(told).toEqual([
      { id: { ...id, sensor: 'other' }, fromMs: nowMs - 3_600_000 },
      { id, fromMs: nowMs - 7_200_000 },
    ]);
    await keeper.stop();
    await store.stop();
  });

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

  test('kill -9 of the engine under load, ten times: what was acknowledged is there, once', {
    timeout: 600_000,
  }, async () => {
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
