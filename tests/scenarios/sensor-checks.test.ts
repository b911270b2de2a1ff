/** Checks of sensors: jumps with a release, clocks, one name on two gateways; what is in doubt stays out of the moistures. */
import { randomUUID } from 'node:crypto';
import { afterEach, beforeEach, describe, expect, test } from 'vitest';
import { createPipeline, type Gateway } from '../../ingest/index.ts';
import { believe, doubtRows, putDoubts } from '../../server/registry/doubts.ts';
import { addGateway, gatewaysOf } from '../../server/registry/gateways.ts';
import { hearingOf } from '../../server/registry/heard-by.ts';
import { refusedOf } from '../../server/registry/refused.ts';
import { noteSensor } from '../../server/registry/sensors.ts';
import { doubtfulIn } from '../../server/series/jumps.ts';
import { leftOutOf, stretchesOf } from '../../server/series/left-out.ts';
import { clockSign, gatewaySign, sensorSigns } from '../../server/watch/sensor-signs.ts';
import { startSifting } from '../../server/watch/sift.ts';
import { openStage, type Stage } from '../support/watch-stage.ts';

const minuteMs = 60_000;
const hourMs = 60 * minuteMs;
const startMs = Date.UTC(2026, 0, 5);

/** One value every ten minutes; null is a silence. */
const columns = (pct: readonly (number | null)[], everyMs = 10 * minuteMs) => {
  const said = pct.flatMap((value, i) => (value === null ? [] : [{ timeMs: startMs + i * everyMs, value }]));
  return {
    timesMs: said.map(({ timeMs }) => timeMs),
    humidityPct: said.map(({ value }) => value),
    temperatureC: said.map(() => 20),
    batteryPct: said.map(() => null),
  };
};
const positions = (pct: readonly (number | null)[]) =>
  doubtfulIn(columns(pct)).map(({ fromMs }) => (fromMs - startMs) / (10 * minuteMs));

describe('jumps', () => {
  test.each([
    ['a single spike', [45, 45, 96, 45, 45], [2]],
    ['two in a row that agree, and back', [45, 45, 20, 21, 45, 45], [2, 3]],
    [
      'three in a row that agree: a window was opened and shut, and all of it is air',
      [45, 45, 20, 21, 20, 22, 45, 46, 45],
      [],
    ],
    ['noise about a spike never agrees', [45, 45, 96, 10, 80, 45], [2, 3, 4]],
    ['a steady rise is no jump', [45, 50, 56, 62, 68, 74], []],
    ['after a long silence anything may be true', [45, ...new Array<null>(20).fill(null), 80, 80], []],
    ['an undecided end stays in doubt until more comes', [45, 45, 96], [2]],
    ['ordinary noise', [45, 46, 44, 47, 43, 45], []],
  ] as const)('%s', (_, pct, doubted) => {
    expect(positions(pct)).toEqual(doubted);
  });

  test('a jump of temperature alone; humidity and temperature that come apart', () => {
    const apart = columns([45, 45, 45, 45, 45, 45]);
    const humidityPct = apart.humidityPct.map((value, i) => (i % 2 === 0 ? value : null));
    const temperatureC = apart.humidityPct.map((_, i) => (i % 2 === 0 ? null : i === 3 ? 60 : 20));
    expect(doubtfulIn({ ...apart, humidityPct, temperatureC })).toEqual([
      { fromMs: startMs + 30 * minuteMs, untilMs: startMs + 30 * minuteMs + 1 },
    ]);
  });
});

describe('stretches that a chart leaves out', () => {
  const at = (...minutes: number[]) =>
    minutes.map((minute) => ({ fromMs: minute * minuteMs, untilMs: minute * minuteMs + 1 }));
  test('what is nearer than a step of the chart is one stretch, with all its readings', () => {
    expect(stretchesOf(at(0, 10, 20, 50), 10 * minuteMs)).toEqual([
      { fromMs: 0, untilMs: 20 * minuteMs + 1, readings: 3 },
      { fromMs: 50 * minuteMs, untilMs: 50 * minuteMs + 1, readings: 1 },
    ]);
    expect(stretchesOf([], minuteMs)).toEqual([]);
  });

  test('only of the time a sensor stood there, and never more than can be told apart', () => {
    const viewer = { organisationId: 'o' };
    const doubts = { doubtsOf: () => at(...Array.from({ length: 500 }, (_, i) => 100 * i)) };
    const window = { fromMs: 0, toMs: 1e12 };
    const stood = (fromMs: number, untilMs: number | null) =>
      leftOutOf(doubts, viewer, [{ urn: 'desk', sensorId: 's', fromMs, untilMs }], window, minuteMs);
    expect(stood(150 * minuteMs, 300 * minuteMs)).toEqual([
      { sensorId: 's', urn: 'desk', fromMs: 200 * minuteMs, untilMs: 200 * minuteMs + 1, readings: 1 },
    ]);
    const all = stood(0, null);
    expect(all.length).toBeLessThanOrEqual(60);
    expect(all.reduce((sum, one) => sum + one.readings, 0)).toBe(500);
  });
});

describe('clocks and gateways, in words', () => {
  test.each([
    [30_000, null],
    [9 * minuteMs, null],
    [-30_000, null],
    [-4 * minuteMs, 'ahead by 4'],
    [25 * minuteMs, 'its clock is behind'],
    [hourMs + 20_000, 'another time zone'],
  ])('%i ms old at best', (ageMs, words) => {
    if (words === null) expect(clockSign(ageMs)).toBeNull();
    else expect(clockSign(ageMs)).toContain(words);
  });
  test('two gateways are named', () => {
    expect(gatewaySign({ gateways: ['attic'], leastAgeMs: 0 })).toBeNull();
    expect(gatewaySign({ gateways: ['attic', 'cellar'], leastAgeMs: 0 })).toContain('attic and cellar');
  });
});

describe('on the real store', () => {
  let stage: Stage;
  beforeEach(async () => {
    stage = await openStage(startMs, ({ stores }) => ({ store: stores.air }));
  });
  afterEach(async () => stage.stop());

  const sifting = () => {
    const { stores } = stage;
    const hearing = hearingOf(stores.db, () => stage.nowMs);
    const sift = startSifting(
      {
        ...{ db: stores.db, sent: stores.store, amendments: stores.amendments, hearing, watch: stage.watch },
        now: () => stage.nowMs,
        log: {
          error: (fields) => {
            throw new Error('sifting failed', { cause: fields });
          },
        },
      },
      1e9,
    );
    return { hearing, sift };
  };

  test('a spike is put in doubt, told of, and kept from the board; what stays is released', async () => {
    const venue = await stage.venue();
    const piano = await stage.piano(venue, 'Grand', () => ({ humidityPct: 45, temperatureC: 20 }));
    await stage.past(10);
    const { sift } = sifting();
    await sift.tick();
    const organisation = stage.viewer.organisationId;
    const id = { organisation, sensor: piano.urn };
    const at = Math.floor(stage.nowMs / hourMs) * hourMs + 7 * minuteMs;
    await stage.pass(hourMs);
    await stage.stores.store.append([{ ...id, timeMs: at, humidityPct: 97, temperatureC: 20 }]);
    const hourOf = async () =>
      (await stage.stores.air.buckets(id, at - 7 * minuteMs, at + 53 * minuteMs, hourMs)).humidityPct.mean[0];
    expect(await hourOf()).toBeGreaterThan(50);
    await sift.tick();
    expect(await hourOf()).toBeCloseTo(45, 9);
    const board = async () =>
      (await stage.stores.db.selectFrom('board_state').select('state').executeTakeFirstOrThrow()).state;
    await stage.pass(3 * hourMs);
    const spiked = JSON.parse(await board()) as { slab: unknown };
    // The same stage without the spike comes to the same board.
    const { db } = stage.stores;
    const sensor = await db.selectFrom('sensor').select('id').executeTakeFirstOrThrow();
    expect((await sensorSigns(db, stage.viewer, stage.nowMs)).get(sensor.id)?.join()).toContain(
      'One reading of the last week jumped and came back',
    );
    const other = await openStage(startMs, ({ stores }) => ({ store: stores.air }));
    await other.piano(await other.venue(), 'Grand', () => ({ humidityPct: 45, temperatureC: 20 }));
    await other.past(10);
    await other.pass(4 * hourMs);
    const never = JSON.parse(
      (await other.stores.db.selectFrom('board_state').select('state').executeTakeFirstOrThrow()).state,
    ) as { slab: unknown };
    expect(spiked.slab).toEqual(never.slab);
    await other.stop();

    // A window is opened for good: at first in doubt, then believed.
    piano.air = () => ({ humidityPct: 20, temperatureC: 20 });
    await stage.pass(2 * hourMs);
    await sift.tick();
    const { humidityPct } = await stage.stores.air.read(id, stage.nowMs - hourMs, stage.nowMs);
    expect(humidityPct.every((pct) => pct === 20)).toBe(true);
    const left = await db.selectFrom('doubt').select('from_ms').execute();
    expect(left).toEqual([{ from_ms: at }]);
    await sift.stop();
  });

  test('what a newcomer sent before anybody had noted it is looked through once it is known', async () => {
    const { db, store } = stage.stores;
    await stage.venue();
    const { sift } = sifting();
    await sift.tick();
    const id = { organisation: stage.viewer.organisationId, sensor: 'newcomer' };
    const at = (i: number) => stage.nowMs - (10 - i) * 10 * minuteMs;
    await store.append(
      Array.from({ length: 10 }, (_, i) => ({ ...id, timeMs: at(i), humidityPct: i === 5 ? 95 : 45 })),
    );
    await sift.tick();
    await sift.tick();
    const nothing = { humidityPct: null, temperatureC: null, batteryPct: null, intervalMs: null };
    const news = { urn: 'newcomer', firstMs: at(0), lastMs: at(9), ...nothing };
    const row = await noteSensor(db, stage.viewer, news);
    await sift.tick();
    expect(await doubtRows(db, stage.viewer, row.id)).toEqual([
      { fromMs: at(5), untilMs: at(5) + 1, believed: false },
    ]);
    await sift.stop();
  });

  test('what is believed stays believed when it is found again, and another organisation changes nothing', async () => {
    const { db } = stage.stores;
    const { viewer } = stage;
    await stage.venue();
    const nothing = { humidityPct: null, temperatureC: null, batteryPct: null, intervalMs: null };
    const { id } = await noteSensor(db, viewer, {
      urn: 'desk',
      firstMs: startMs,
      lastMs: startMs,
      ...nothing,
    });
    const spike = { fromMs: startMs, untilMs: startMs + 1 };
    const window = { fromMs: startMs - hourMs, untilMs: startMs + hourMs };
    const standing = async () => (await doubtRows(db, viewer, id)).map(({ believed }) => believed);
    const says = (believed: boolean) => ({ ...window, believed });
    expect(await putDoubts(db, viewer, id, window, [spike])).toBe(startMs);
    expect(await believe(db, { organisationId: randomUUID() }, id, says(true))).toBeNull();
    expect(await standing()).toEqual([false]);
    expect(await believe(db, viewer, id, says(true))).toBe(startMs);
    expect(await believe(db, viewer, id, says(true))).toBeNull();
    await stage.stores.amendments.reload();
    expect(stage.stores.amendments.doubtsOf({ organisation: viewer.organisationId, sensor: 'desk' })).toEqual(
      [],
    );
    // Found again, and no longer found: neither changes what a person said.
    expect(await putDoubts(db, viewer, id, window, [spike])).toBeNull();
    expect(await putDoubts(db, viewer, id, window, [])).toBeNull();
    expect(await standing()).toEqual([true]);
    expect(await believe(db, viewer, id, says(false))).toBe(startMs);
    expect(await putDoubts(db, viewer, id, window, [])).toBe(startMs);
    expect(await standing()).toEqual([]);
  });

  test('one name on two gateways, and a clock an hour behind, are noticed from live messages; a good one is not', async () => {
    const { db } = stage.stores;
    await stage.venue();
    for (const name of ['attic', 'cellar']) await addGateway(db, stage.viewer, name, startMs);
    const { hearing, sift } = sifting();
    const pipeline = createPipeline({
      store: stage.stores.store,
      refused: refusedOf(db),
      now: () => stage.nowMs,
      heard: hearing.heard,
    });
    const gateway = async (name: string): Promise<Gateway> => {
      const found = await gatewaysOf(db).byName(name);
      if (!found) throw new Error(name);
      return found;
    };
    const send = async (by: string, urn: string, timeMs: number) =>
      pipeline.accept({
        gateway: await gateway(by),
        topic: `readings/${by}`,
        payload: new TextEncoder().encode(
          JSON.stringify([{ bn: `${urn}:`, bt: timeMs / 1000, n: 'humidity', u: '%RH', v: 45 }]),
        ),
        receivedMs: stage.nowMs,
      });
    const ids = new Map<string, string>();
    for (const urn of ['twin', 'late', 'good', 'buffered']) {
      const nothing = { humidityPct: null, temperatureC: null, batteryPct: null, intervalMs: null };
      const row = await noteSensor(db, stage.viewer, { urn, firstMs: startMs, lastMs: startMs, ...nothing });
      ids.set(urn, row.id);
    }
    for (let i = 0; i < 6; i += 1) {
      stage.nowMs += 10 * minuteMs;
      await send('attic', 'good', stage.nowMs - 2_000);
      await send('attic', 'late', stage.nowMs - hourMs - 5_000);
      // Mostly late because it was out of reach, once not: its clock is right.
      await send('attic', 'buffered', stage.nowMs - (i === 3 ? 1_000 : 3 * hourMs - i));
      await send(i % 2 === 0 ? 'attic' : 'cellar', 'twin', stage.nowMs - 1_000);
    }
    await sift.tick();
    const signs = await sensorSigns(db, stage.viewer, stage.nowMs);
    const of = (urn: string) => (signs.get(ids.get(urn) ?? '') ?? []).join();
    expect(of('good')).toBe('');
    expect(of('buffered')).toBe('');
    expect(of('twin')).toContain('attic and cellar');
    expect(of('late')).toContain('another time zone');
    // Another organisation sees none of it.
    const stranger = { organisationId: randomUUID() };
    expect((await sensorSigns(db, stranger, stage.nowMs)).size).toBe(0);
    await sift.stop();
    await pipeline.stop();
  });
});
