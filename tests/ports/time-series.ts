/** One suite for every engine behind the readings' port; each adapter's test runs it against a real one. */
import fc from 'fast-check';
import { afterEach, beforeEach, describe, expect, test } from 'vitest';
import {
  type Columns,
  quantities,
  type Reading,
  type SeriesId,
  type TimeSeries,
} from '../../ingest/index.ts';

/** A place that can be opened more than once, at the same time too. */
export interface Place {
  open(): Promise<TimeSeries>;
  remove(): Promise<void>;
}

const hourMs = 3_600_000;
const startMs = Date.UTC(2025, 10, 3, 22);
const organisation = 'conservatory';
const sensor = 'urn:dev:mac:02a1b2c3d4e5f607';
const id: SeriesId = { organisation, sensor };
const from = (of: SeriesId, timeMs: number, values: Partial<Reading>): Reading => ({
  ...of,
  timeMs,
  ...values,
});
const all = [0, Date.UTC(2100, 0, 1)] as const;

type Row = {
  timeMs: number;
  humidityPct: number | null;
  temperatureC: number | null;
  batteryPct: number | null;
};

function rowsOf(columns: Columns): Row[] {
  return columns.timesMs.map((timeMs, at) => ({
    timeMs,
    humidityPct: columns.humidityPct[at] ?? null,
    temperatureC: columns.temperatureC[at] ?? null,
    batteryPct: columns.batteryPct[at] ?? null,
  }));
}

/** The rules of identity said a second time, plainly. */
class PlainShelf {
  readonly #rows = new Map<string, Map<number, Row>>();
  readonly #keeps: TimeSeries['conflictKeeps'];

  constructor(keeps: TimeSeries['conflictKeeps']) {
    this.#keeps = keeps;
  }

  append(batch: readonly Reading[]): { stored: number; duplicates: number; conflicts: number } {
    const counts = { stored: 0, duplicates: 0, conflicts: 0 };
    for (const reading of batch) {
      const series = this.#rows.get(reading.sensor) ?? new Map<number, Row>();
      this.#rows.set(reading.sensor, series);
      const row = series.get(reading.timeMs) ?? {
        timeMs: reading.timeMs,
        humidityPct: null,
        temperatureC: null,
        batteryPct: null,
      };
      series.set(reading.timeMs, row);
      for (const quantity of quantities) {
        const came = reading[quantity];
        if (came === undefined) continue;
        const kept = Math.round(came * 100) / 100;
        if (row[quantity] === null) counts.stored += 1;
        else if (row[quantity] === kept) counts.duplicates += 1;
        else counts.conflicts += 1;
        if (row[quantity] === null || this.#keeps === 'last') row[quantity] = kept;
      }
    }
    return counts;
  }

  rows(name: string, fromMs: number, toMs: number): Row[] {
    return [...(this.#rows.get(name)?.values() ?? [])]
      .filter(({ timeMs }) => timeMs >= fromMs && timeMs < toMs)
      .sort((a, b) => a.timeMs - b.timeMs);
  }

  buckets(name: string, fromMs: number, toMs: number, widthMs: number) {
    const groups = new Map<number, Row[]>();
    for (const row of this.rows(name, fromMs, toMs)) {
      if (row.humidityPct === null && row.temperatureC === null) continue;
      const start = Math.floor(row.timeMs / widthMs) * widthMs;
      groups.set(start, [...(groups.get(start) ?? []), row]);
    }
    return [...groups].map(([start, rows]) => ({
      start,
      humidityPct: plainStatistics(rows.map((row) => row.humidityPct)),
      temperatureC: plainStatistics(rows.map((row) => row.temperatureC)),
    }));
  }
}

function plainStatistics(values: readonly (number | null)[]) {
  const measured = values.filter((value) => value !== null);
  if (measured.length === 0) return { count: 0, mean: null, min: null, max: null };
  const mean = measured.reduce((sum, value) => sum + value, 0) / measured.length;
  return { count: measured.length, mean, min: Math.min(...measured), max: Math.max(...measured) };
}

const sensors = ['a', 'b', 'c'];
const hundredths = (min: number, max: number) => fc.integer({ min, max }).map((value) => value / 100);
/** Few sensors, times and values, so that the same ones meet often. */
const anyReading: fc.Arbitrary<Reading> = fc
  .record({
    sensor: fc.constantFrom(...sensors),
    /** Forty moments of four days, some of them in the same hour. */
    moment: fc.nat(39),
    humidityPct: fc.option(hundredths(3_000, 3_004), { nil: undefined, freq: 2 }),
    temperatureC: fc.option(hundredths(-2, 2), { nil: undefined, freq: 2 }),
    batteryPct: fc.option(fc.constantFrom(80, 81), { nil: undefined, freq: 2 }),
  })
  .map(({ sensor: name, moment, humidityPct, temperatureC, batteryPct }) => ({
    organisation,
    sensor: name,
    timeMs: startMs + Math.floor(moment / 4) * 9 * hourMs + (moment % 4) * 1_500_000 + moment,
    ...(humidityPct === undefined ? {} : { humidityPct }),
    ...(temperatureC === undefined ? {} : { temperatureC }),
    ...(batteryPct === undefined ? {} : { batteryPct }),
  }));

export function describeTimeSeries(engine: string, makePlace: () => Promise<Place>): void {
  // Some of them make a hundred places and more, one after the other: minutes on a busy machine.
  describe(`readings on ${engine}`, { timeout: 600_000 }, () => {
    let place: Place;
    let store: TimeSeries;
    beforeEach(async () => {
      place = await makePlace();
      store = await place.open();
    });
    afterEach(async () => {
      await store.stop();
      await place.remove();
    });

    test('humidity and temperature that come apart become one reading', async () => {
      await store.append([from(id, startMs, { humidityPct: 41.234 })]);
      await store.append([from(id, startMs, { temperatureC: -3.456, batteryPct: 90 })]);
      expect(rowsOf(await store.read(id, ...all))).toEqual([
        { timeMs: startMs, humidityPct: 41.23, temperatureC: -3.46, batteryPct: 90 },
      ]);
    });

    test('the same value again is a duplicate, another one a conflict', async () => {
      expect(await store.append([from(id, startMs, { humidityPct: 41, temperatureC: 20 })])).toEqual({
        stored: 2,
        duplicates: 0,
        conflicts: 0,
      });
      const again = await store.append([
        from(id, startMs, { humidityPct: 41.004, temperatureC: 21, batteryPct: 70 }),
      ]);
      expect(again).toEqual({ stored: 1, duplicates: 1, conflicts: 1 });
      const [row] = rowsOf(await store.read(id, ...all));
      expect(row).toEqual({
        timeMs: startMs,
        humidityPct: 41,
        temperatureC: store.conflictKeeps === 'first' ? 20 : 21,
        batteryPct: 70,
      });
    });

    test('appends made side by side are each told their own counts', async () => {
      const batches = Array.from({ length: 50 }, (_, at) => [
        from(id, startMs + at * 1_000, { humidityPct: 40 }),
        from(id, startMs, { humidityPct: 40 }),
      ]);
      const answers = await Promise.all(batches.map((batch) => store.append(batch)));
      expect(answers.reduce((sum, { stored }) => sum + stored, 0)).toBe(50);
      expect(answers[0]).toEqual({ stored: 1, duplicates: 1, conflicts: 0 });
      expect(answers[7]).toEqual({ stored: 1, duplicates: 1, conflicts: 0 });
    });

    test('one organisation never sees the sensor of another, though it has the same name', async () => {
      const other = { organisation: 'parish', sensor };
      await store.append([from(id, startMs, { humidityPct: 41 }), from(other, startMs, { humidityPct: 66 })]);
      expect((await store.read(id, ...all)).humidityPct).toEqual([41]);
      expect((await store.read(other, ...all)).humidityPct).toEqual([66]);
      expect((await store.read({ organisation: 'parish', sensor: 'unknown' }, ...all)).timesMs).toEqual([]);
    });

    test('a range is closed at its start and open at its end', async () => {
      const times = [-1, 0, 1, hourMs - 1, hourMs, hourMs + 1].map((offset) => startMs + offset);
      await store.append(times.map((timeMs, at) => from(id, timeMs, { humidityPct: 40 + at })));
      expect((await store.read(id, startMs, startMs + hourMs)).humidityPct).toEqual([41, 42, 43]);
      for (const widthMs of [hourMs, 600_000]) {
        const rollup = await store.buckets(id, startMs, startMs + hourMs, widthMs);
        expect(rollup.humidityPct.count.reduce((sum, count) => sum + count, 0)).toBe(3);
      }
      const hours = await store.buckets(id, startMs - hourMs, startMs + 2 * hourMs, hourMs);
      expect(hours.timesMs).toEqual([startMs - hourMs, startMs, startMs + hourMs]);
      expect(hours.humidityPct.count).toEqual([1, 3, 2]);
    });

    test('nothing is answered for ranges that are empty, backwards or not numbers', async () => {
      await store.append([from(id, startMs, { humidityPct: 41 })]);
      for (const [low, high] of [
        [startMs, startMs],
        [startMs + 1, startMs],
        [Number.NaN, startMs + 1],
      ] as const) {
        expect((await store.read(id, low, high)).timesMs).toEqual([]);
        expect((await store.buckets(id, low, high, hourMs)).timesMs).toEqual([]);
      }
      const ever = [Number.NEGATIVE_INFINITY, Number.POSITIVE_INFINITY] as const;
      expect((await store.read(id, ...ever)).timesMs).toEqual([startMs]);
      expect((await store.buckets(id, ...ever, hourMs)).humidityPct.mean).toEqual([41]);
      expect((await store.buckets(id, ...ever, 60_000)).humidityPct.mean).toEqual([41]);
    });

    test('a reading that no sensor can mean fails its own batch and no other', async () => {
      const good = store.append([from(id, startMs, { humidityPct: 41 })]);
      await expect(store.append([from(id, Number.NaN, { humidityPct: 41 })])).rejects.toThrow(/timeMs/);
      await expect(store.append([from(id, startMs, { humidityPct: Number.NaN })])).rejects.toThrow(/NaN/);
      expect((await good).stored).toBe(1);
    });

    test('what is read and rolled up equals a plain recomputation, in whatever order and batches it came', async () => {
      /** What the runs came across, so that they cannot pass by chance of saying nothing. */
      const seen = { stored: 0, duplicates: 0, conflicts: 0, rows: 0, buckets: 0 };
      await fc.assert(
        fc.asyncProperty(
          fc.array(fc.array(anyReading, { maxLength: 40, size: 'max' }), { maxLength: 8 }),
          fc.tuple(fc.integer({ min: -90, max: 6_000 }), fc.integer({ min: 1, max: 6_000 })),
          fc.constantFrom(hourMs, 2 * hourMs, 6 * hourMs, 24 * hourMs, 600_000, 5_400_000, 86_399_000),
          async (batches, [firstMinute, minutes], widthMs) => {
            const fresh = await makePlace();
            const real = await fresh.open();
            try {
              const plain = new PlainShelf(real.conflictKeeps);
              for (const batch of batches) {
                const told = await real.append(batch);
                const expected = plain.append(batch);
                seen.stored += expected.stored;
                seen.duplicates += expected.duplicates;
                seen.conflicts += expected.conflicts;
                expect(told).toEqual(expected);
              }
              const fromMs = startMs + firstMinute * 60_000;
              const toMs = fromMs + minutes * 60_000;
              for (const name of sensors) {
                const series = { organisation, sensor: name };
                const rows = rowsOf(await real.read(series, fromMs, toMs));
                // A reading without any value leaves nothing behind.
                const plainRows = plain
                  .rows(name, fromMs, toMs)
                  .filter((row) => quantities.some((quantity) => row[quantity] !== null));
                expect(rows).toEqual(plainRows);
                const rollup = await real.buckets(series, fromMs, toMs, widthMs);
                const expected = plain.buckets(name, fromMs, toMs, widthMs);
                expect(rollup.timesMs).toEqual(expected.map(({ start }) => start));
                seen.rows += rows.length;
                seen.buckets += expected.length;
                for (const quantity of ['humidityPct', 'temperatureC'] as const) {
                  const { count, mean, min, max } = rollup[quantity];
                  for (const [at, bucket] of expected.entries()) {
                    const plainBucket = bucket[quantity];
                    expect([count[at], min[at], max[at]]).toEqual([
                      plainBucket.count,
                      plainBucket.min,
                      plainBucket.max,
                    ]);
                    // Sums of hundredths are exact; only the plain one gathers rounding.
                    if (plainBucket.mean === null) expect(mean[at]).toBeNull();
                    else expect(mean[at]).toBeCloseTo(plainBucket.mean, 9);
                  }
                }
              }
            } finally {
              await real.stop();
              await fresh.remove();
            }
          },
        ),
        { numRuns: 60 },
      );
      for (const count of Object.values(seen)) expect(count).toBeGreaterThan(100);
    });

    /** Follows a store by its changes alone. */
    function follower(of: TimeSeries) {
      const copy = new Map<string, Row[]>();
      let cursor: string | null = null;
      return {
        copy,
        async poll(): Promise<number> {
          const changed = await of.changedSince(cursor);
          cursor = changed.cursor;
          for (const { id: series, fromMs } of changed.series) {
            const before = (copy.get(series.sensor) ?? []).filter(({ timeMs }) => timeMs < fromMs);
            copy.set(series.sensor, [...before, ...rowsOf(await of.read(series, fromMs, all[1]))]);
          }
          return changed.series.length;
        },
      };
    }

    test('readers that follow the changes at their own pace miss nothing, late readings included', async () => {
      await fc.assert(
        fc.asyncProperty(
          fc.array(
            fc.tuple(
              fc.array(anyReading, { minLength: 1, maxLength: 12, size: 'max' }),
              fc.constantFrom('none', 'one', 'both'),
              fc.boolean(),
            ),
            {
              minLength: 1,
              maxLength: 12,
            },
          ),
          async (steps) => {
            const fresh = await makePlace();
            const [writing, reading] = [await fresh.open(), await fresh.open()];
            try {
              const [often, seldom] = [follower(writing), follower(reading)];
              const working: Promise<unknown>[] = [];
              for (const [batch, polls, awaited] of steps) {
                working.push(writing.append(batch));
                // Else the poll comes while the append is under way.
                if (awaited) await working.at(-1);
                if (polls !== 'none') await often.poll();
                if (polls === 'both') await seldom.poll();
              }
              await Promise.all(working);
              for (const reader of [often, seldom]) {
                await reader.poll();
                for (const name of sensors) {
                  const rows = rowsOf(await writing.read({ organisation, sensor: name }, ...all));
                  expect(reader.copy.get(name) ?? []).toEqual(rows);
                }
              }
            } finally {
              await Promise.all([writing.stop(), reading.stop()]);
              await fresh.remove();
            }
          },
        ),
        { numRuns: 40 },
      );
    });

    test('nothing new is no change; a cursor that means nothing here starts over', async () => {
      await store.append([from(id, startMs, { humidityPct: 41 })]);
      const first = await store.changedSince(null);
      expect(first.series.map((entry) => entry.id)).toEqual([id]);
      expect(first.series[0]?.fromMs).toBeLessThanOrEqual(startMs);
      const second = await store.changedSince(first.cursor);
      expect(second.series).toEqual([]);
      for (const strange of ['', 'nonsense', `${first.cursor}9`]) {
        expect((await store.changedSince(strange)).series.map((entry) => entry.id)).toEqual([id]);
      }
    });

    test('a long range is read whole, though it is read in pieces', async () => {
      const many = Array.from({ length: 25_000 }, (_, at) =>
        from(id, startMs + at, { humidityPct: (at % 10_000) / 100 }),
      );
      await store.append(many);
      const { timesMs, humidityPct } = await store.read(id, ...all);
      expect(timesMs).toEqual(many.map(({ timeMs }) => timeMs));
      expect(humidityPct).toEqual(many.map((reading) => reading.humidityPct));
      expect((await store.buckets(id, ...all, 1_000)).humidityPct.count).toEqual(
        Array.from({ length: 25 }, () => 1_000),
      );
    });

    test('everything is there after closing and opening again', async () => {
      const readings = Array.from({ length: 9_000 }, (_, at) =>
        from(id, startMs + at * 60_000, { humidityPct: 40 + (at % 90) / 10, temperatureC: 20 }),
      );
      await store.append([from({ organisation, sensor: 'other' }, startMs, { humidityPct: 41 })]);
      // A cursor taken while it is appended may know some of it already, or all.
      const { cursor } = await store.changedSince(null);
      const appending = store.append(readings);
      await store.stop();
      expect((await appending).stored).toBe(18_000);
      store = await place.open();
      expect((await store.read(id, ...all)).timesMs).toHaveLength(9_000);
      expect((await store.buckets(id, ...all, hourMs)).timesMs).toHaveLength(150);
      expect((await store.changedSince(cursor)).series.map((entry) => entry.id)).toEqual([id]);
      const again = await store.append(readings.slice(0, 10));
      // What an engine cannot tell and the process no longer remembers counts as stored; it is not doubled.
      expect(again.stored).toBe(store.counts === 'exact' ? 0 : 20);
      expect((await store.read(id, ...all)).timesMs).toHaveLength(9_000);
    });
  });
}
