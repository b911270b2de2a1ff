/** Dated calibrations on the real store: what is understood equals what was sent, put right by hand; what was sent stays. */
import { randomUUID } from 'node:crypto';
import { afterEach, beforeEach, describe, expect, test } from 'vitest';
import type { Reading } from '../../ingest/index.ts';
import type { CalibrationBody } from '../../server/contract/index.ts';
import { type Line, putCalibration } from '../../server/registry/calibrations.ts';
import { putDoubts } from '../../server/registry/doubts.ts';
import { placements } from '../../server/registry/sensors.ts';
import { slabMeanPct } from '../../server/science/index.ts';
import { difference, timesTogether } from '../../server/series/beside.ts';
import { advanceBoard } from '../../server/series/board.ts';
import { climateOf, climateSources, hourMs } from '../../server/series/climate.ts';
import { type OnePiano, onePiano } from '../support/one-piano.ts';

const startMs = Date.UTC(2025, 8, 1);
const minuteMs = 60_000;
const at = (hours: number): number => startMs + hours * hourMs;

let here: OnePiano;
beforeEach(async () => {
  here = await onePiano(startMs);
});
afterEach(() => here.stop());

/** Values on whole hundredths, so that nothing is rounded on the way. */
const readings = (
  urn: string,
  fromHour: number,
  toHour: number,
  change: (pct: number) => number = (pct) => pct,
): Reading[] =>
  Array.from({ length: (toHour - fromHour) * 6 }, (_, i) => {
    const timeMs = at(fromHour) + i * 10 * minuteMs;
    const hours = (timeMs - startMs) / hourMs;
    const pct = Math.round(100 * (45 + 8 * Math.sin(hours / 90) + 2 * Math.sin(hours / 4))) / 100;
    return {
      organisation: here.viewer.organisationId,
      sensor: urn,
      timeMs,
      humidityPct: Math.round(100 * change(pct)) / 100,
      temperatureC: 20,
    };
  });

async function calibrate(
  sensorId: string,
  fromMs: number,
  line: Partial<Line>,
  corrects: string | null = null,
): Promise<{ id: string; changedFromMs: number }> {
  const full = { gain: 1, offsetPct: 0, offsetC: 0, ...line };
  const id = randomUUID();
  const body: CalibrationBody = { kind: 'stated', fromMs, corrects, words: '', ...full };
  const changedFromMs = await putCalibration(
    here.stores.db,
    here.viewer,
    { id, sensorId, body, line: full },
    at(10_000),
  );
  await here.stores.amendments.reload();
  return { id, changedFromMs };
}

const boardPct = async (hours: number, changedFromMs: number | null) => {
  const deps = { db: here.stores.db, store: here.stores.air };
  const state = await advanceBoard(deps, here.viewer, here.piano, at(hours), changedFromMs);
  return state ? slabMeanPct(state.slab) : Number.NaN;
};

describe('calibrations', () => {
  test('buckets of any width equal the readings put right by hand, also where one begins within a bucket', async () => {
    const all = readings('a', 0, 200);
    await here.stores.store.append(all);
    const id = await here.sense('a', startMs);
    const [first, second] = [at(60) + 25 * minuteMs, at(130) + 35 * minuteMs];
    await calibrate(id, first, { gain: 1.07, offsetPct: -2.5, offsetC: 0.4 });
    await calibrate(id, second, { gain: 0.95, offsetPct: 1.25 });
    const right = (one: Reading): number => {
      const pct = one.humidityPct ?? Number.NaN;
      if (one.timeMs >= second) return 0.95 * pct + 1.25;
      return one.timeMs >= first ? 1.07 * pct - 2.5 : pct;
    };
    for (const widthMs of [20 * minuteMs, hourMs, 6 * hourMs]) {
      const rollup = await here.stores.air.buckets(
        { organisation: here.viewer.organisationId, sensor: 'a' },
        at(1),
        at(199),
        widthMs,
      );
      expect(rollup.timesMs.length).toBeGreaterThan(30);
      for (const [i, timeMs] of rollup.timesMs.entries()) {
        const within = all.filter(
          (one) => one.timeMs >= Math.max(timeMs, at(1)) && one.timeMs < Math.min(timeMs + widthMs, at(199)),
        );
        const mean = within.reduce((sum, one) => sum + right(one), 0) / within.length;
        expect(rollup.humidityPct.mean[i]).toBeCloseTo(mean, 9);
        expect(rollup.humidityPct.count[i]).toBe(within.length);
        expect(rollup.humidityPct.max[i]).toBeCloseTo(Math.max(...within.map(right)), 9);
      }
    }
    // What was sent is as it was.
    const raw = await here.stores.store.read(
      { organisation: here.viewer.organisationId, sensor: 'a' },
      startMs,
      at(200),
    );
    expect(raw.humidityPct).toEqual(all.map((one) => one.humidityPct));
  });

  test.each([
    ['a later day', 300],
    ['the very first day', 0],
  ])(
    'a board recomputed from %s equals one that never knew it otherwise; corrected by a new entry, too',
    async (_, from) => {
      const id = await here.sense('a', startMs);
      await here.stores.store.append(readings('a', 0, 900, (pct) => pct + 3));
      await boardPct(900, null);
      const wrong = await calibrate(id, at(400), { offsetPct: 5 });
      await boardPct(900, wrong.changedFromMs);
      const mended = await calibrate(id, at(from), { offsetPct: -3 }, wrong.id);
      expect(mended.changedFromMs).toBe(at(from));
      const afterwards = await boardPct(900, mended.changedFromMs);

      // The other way: the same air, sent rightly from that hour on.
      const mine = here;
      here = await onePiano(startMs, mine.piano.id);
      await here.sense('a', startMs);
      await here.stores.store.append(readings('a', 0, from, (pct) => pct + 3));
      await here.stores.store.append(readings('a', from, 900));
      const never = await boardPct(900, null);
      expect(afterwards).toBeCloseTo(never, 9);
      await here.stop();
      here = mine;
      expect(Number.isFinite(never)).toBe(true);
    },
  );

  test('a day side by side becomes a dated calibration, and the step of replacing is gone', async () => {
    const old = await here.sense('old', startMs, at(324));
    const fresh = await here.sense('new', at(300));
    await here.stores.store.append(readings('old', 0, 324));
    await here.stores.store.append(readings('new', 300, 600, (pct) => pct - 3));
    const [together] = timesTogether(await placements(here.stores.db, here.viewer), fresh, at(600));
    expect(together).toEqual({ otherId: old, fromMs: at(300), untilMs: at(324) });
    const between = await difference(
      { sent: here.stores.store, air: here.stores.air },
      here.viewer,
      'new',
      'old',
      together ?? { fromMs: 0, untilMs: 0 },
    );
    expect(between?.hours).toBe(24);
    expect(between?.offsetPct).toBeCloseTo(3, 9);

    const roomAir = async () => {
      const sources = await climateSources(here.stores.db, here.viewer, here.piano);
      const { room } = await climateOf(here.stores.air, here.viewer, sources, at(200), at(600), hourMs);
      return room?.humidityPct ?? [];
    };
    const truth = (hour: number) => {
      const within = readings('x', hour, hour + 1).map((one) => one.humidityPct ?? Number.NaN);
      return within.reduce((sum, one) => sum + one, 0) / within.length;
    };
    const before = await roomAir();
    expect(Math.abs((before[130] ?? 0) - truth(330))).toBeCloseTo(3, 6);
    await calibrate(fresh, at(300), { offsetPct: between?.offsetPct ?? 0 });
    for (const [i, pct] of (await roomAir()).entries()) expect(pct).toBeCloseTo(truth(200 + i), 9);
  });

  test('the same entry twice is one; another under its id, or a second correction of one, is refused', async () => {
    const id = await here.sense('a', startMs);
    const line = { gain: 1, offsetPct: 2, offsetC: 0 };
    const body: CalibrationBody = { kind: 'stated', fromMs: at(1), corrects: null, words: '', ...line };
    const entry = randomUUID();
    const put = (changed: Partial<Line> = {}) =>
      putCalibration(
        here.stores.db,
        here.viewer,
        { id: entry, sensorId: id, body: { ...body, ...changed }, line: { ...line, ...changed } },
        at(50),
      );
    await put();
    await put();
    await expect(put({ offsetPct: 4 })).rejects.toThrow('another calibration is kept under it');
    await calibrate(id, at(1), { offsetPct: 1 }, entry);
    await expect(calibrate(id, at(1), { offsetPct: 0 }, entry)).rejects.toThrow('corrected already');
    await expect(calibrate(id, at(1), {}, randomUUID())).rejects.toThrow('no such calibration');
    await expect(calibrate(id, at(20_000), {})).rejects.toThrow('future');
    await expect(calibrate(randomUUID(), at(1), {})).rejects.toThrow('no such sensor');
  });

  test('readings in doubt are out of the means and back when they are no longer', async () => {
    const id = await here.sense('a', startMs);
    const all = readings('a', 0, 50).map((one, i) => (i === 63 ? { ...one, humidityPct: 96 } : one));
    await here.stores.store.append(all);
    const series = { organisation: here.viewer.organisationId, sensor: 'a' };
    const hourOf = async () =>
      (await here.stores.air.buckets(series, at(10), at(11), hourMs)).humidityPct.mean[0];
    const spiked = await hourOf();
    const spikeMs = all[63]?.timeMs ?? 0;
    const window = { fromMs: startMs, untilMs: at(50) };
    const changed = await putDoubts(here.stores.db, here.viewer, id, window, [
      { fromMs: spikeMs, untilMs: spikeMs + 1 },
    ]);
    expect(changed).toBe(spikeMs);
    await here.stores.amendments.reload();
    const good = all.slice(60, 66).filter((_, i) => i !== 3);
    const mean = good.reduce((sum, one) => sum + (one.humidityPct ?? 0), 0) / 5;
    expect(await hourOf()).toBeCloseTo(mean, 9);
    expect((spiked ?? 0) - mean).toBeGreaterThan(5);
    expect((await here.stores.store.read(series, spikeMs, spikeMs + 1)).humidityPct).toEqual([96]);
    expect(await putDoubts(here.stores.db, here.viewer, id, window, [])).toBe(spikeMs);
    await here.stores.amendments.reload();
    expect(await hourOf()).toBe(spiked);
  });
});
