/** The same seed is the same world, whoever asks, however far it is run. */
import { createHash } from 'node:crypto';
import { describe, expect, test } from 'vitest';
import { dayMs, monthsBefore, stepMs } from '../../demo-data/clock.ts';
import { generate, readingsBetween } from '../../demo-data/generate.ts';
import { live } from '../../demo-data/live.ts';
import { chance, scatter, uuidOf } from '../../demo-data/random.ts';
import { world } from '../../demo-data/world.ts';
import type { Reading } from '../../ingest/index.ts';

const endMs = Date.UTC(2026, 10, 25, 10, 7);
const anchor = { seed: 'test', endMs, months: 3 };

function digest(batches: Iterable<readonly Reading[]>): string {
  const hash = createHash('sha256');
  for (const batch of batches) hash.update(JSON.stringify(batch));
  return hash.digest('hex');
}

// Nothing but work: a busy machine takes more than a minute for it.
describe('a seed and an end', { timeout: 600_000 }, () => {
  test('give the same records and readings each time, and others for another seed', () => {
    const [one, same, other] = [generate(anchor), generate(anchor), generate({ ...anchor, seed: 'other' })];
    expect(same.records).toEqual(one.records);
    expect(digest(same.readings('org'))).toBe(digest(one.readings('org')));
    expect(other.records.visits).not.toEqual(one.records.visits);
    expect(digest(other.readings('org'))).not.toBe(digest(one.readings('org')));
  });

  test('a world run on for a month begins with exactly the shorter one', () => {
    const here = world(anchor);
    const { endMs: until } = here.anchor;
    const lastWeek = [...readingsBetween(here, 'org', until - 7 * dayMs, until)].flat();
    const longer = [...readingsBetween(here, 'org', until - 7 * dayMs, until + 30 * dayMs)].flat();
    expect(lastWeek.length).toBeGreaterThan(7 * 144 * 30);
    expect(longer.filter((one) => one.timeMs < until)).toEqual(lastWeek);
    expect(longer.length).toBeGreaterThan(4 * lastWeek.length);
  });

  test('a gap filled later joins the past without an overlap or a hole', () => {
    const here = world(anchor);
    const { endMs: until } = here.anchor;
    const later = until + 9.4 * dayMs;
    const whole = [...readingsBetween(here, 'org', until - dayMs, later)].flat();
    const parts = [
      ...readingsBetween(here, 'org', until - dayMs, until),
      ...readingsBetween(here, 'org', until, later),
    ].flat();
    const key = (one: Reading) => `${one.sensor} ${one.timeMs}`;
    expect(parts.map(key).sort()).toEqual(whole.map(key).sort());
  });
});

describe('live', { timeout: 600_000 }, () => {
  const here = world(anchor);
  const { endMs: until } = here.anchor;
  const feed = live(here, until + 40 * 60_000);

  test('goes on from the past: on the usual steps it says what the past says, but for the noise of 0.1', () => {
    const steps = [...feed.missed('org', until - 5 * stepMs, until + 3 * stepMs)].flat();
    expect(steps.length).toBeGreaterThan(200);
    for (const step of steps) {
      const said = feed.at(feed.urns.indexOf(step.sensor), step.timeMs);
      if (!said) throw new Error(`${step.sensor} is silent`);
      // Two draws of a noise that never exceeds 0.42 points and 0.14 K, each rounded to 0.1.
      expect(Math.abs(said.humidityPct - (step.humidityPct ?? Number.NaN))).toBeLessThan(0.95);
      expect(Math.abs(said.temperatureC - (step.temperatureC ?? Number.NaN))).toBeLessThan(0.4);
    }
  });

  test('moves, without a jump between one minute and the next', () => {
    const values = new Set<number>();
    feed.urns.forEach((_, index) => {
      let before = feed.at(index, until);
      for (let timeMs = until; timeMs < until + 40 * 60_000; timeMs += 60_000) {
        const now = feed.at(index, timeMs);
        if (now && before) {
          values.add(now.humidityPct);
          expect(Math.abs(now.humidityPct - before.humidityPct)).toBeLessThan(2.5);
          expect(Math.abs(now.temperatureC - before.temperatureC)).toBeLessThan(1);
        }
        before = now;
      }
    });
    expect(values.size).toBeGreaterThan(60);
  });

  test('is silent for the flat battery and still for the stuck sensor', () => {
    const index = (key: string) =>
      feed.urns.indexOf(here.sensors.find((sensor) => sensor.key === key)?.urn ?? '');
    expect(feed.at(index('practice-5/room'), until)).toBeNull();
    const stuck = [0, 7, 23].map((minutes) => feed.at(index('parish-room/room'), until + minutes * 60_000));
    expect(new Set(stuck.map((one) => JSON.stringify(one))).size).toBe(1);
  });

  test('runs further when its day is over', () => {
    expect(feed.at(0, until + 3.5 * dayMs)).not.toBeNull();
  });
});

describe('chance', () => {
  test('a stream is its label, evenly spread and normal', () => {
    const [a, b, c] = [chance('a'), chance('a'), chance('b')];
    const draws = Array.from({ length: 20_000 }, () => a.uniform());
    expect(Array.from({ length: 20_000 }, () => b.uniform())).toEqual(draws);
    expect(c.uniform()).not.toBe(draws[0]);
    // Mean of n even draws: standard deviation 1/√(12n) = 0.002; five of them.
    expect(draws.reduce((sum, one) => sum + one, 0) / draws.length).toBeCloseTo(0.5, 1.9);
    const normal = Array.from({ length: 20_000 }, () => a.normal());
    expect(Math.abs(normal.reduce((sum, one) => sum + one, 0) / normal.length)).toBeLessThan(0.036);
    expect(normal.reduce((sum, one) => sum + one * one, 0) / normal.length).toBeCloseTo(1, 1.2);
  });

  test('scatter has mean 0, deviation 1 and no memory of its neighbour', () => {
    const n = 50_000;
    const values = Array.from({ length: n }, (_, i) => scatter(12345, i));
    const moment = (of: (i: number) => number) => values.reduce((sum, _, i) => sum + of(i), 0) / n;
    expect(Math.abs(moment((i) => values[i] ?? 0))).toBeLessThan(5 / Math.sqrt(n));
    expect(Math.abs(moment((i) => (values[i] ?? 0) ** 2) - 1)).toBeLessThan(0.03);
    expect(Math.abs(moment((i) => (values[i] ?? 0) * (values[i + 1] ?? 0)))).toBeLessThan(5 / Math.sqrt(n));
  });

  test('ids are name-based UUIDs (RFC 9562, version 5, variant 10)', () => {
    expect(uuidOf('a')).toBe(uuidOf('a'));
    expect(uuidOf('a')).not.toBe(uuidOf('b'));
    expect(uuidOf('a')).toMatch(/^[0-9a-f]{8}-[0-9a-f]{4}-5[0-9a-f]{3}-[89ab][0-9a-f]{3}-[0-9a-f]{12}$/);
  });
});

test('months before an end fall on a day that exists', () => {
  expect(new Date(monthsBefore(Date.UTC(2026, 2, 31, 8), 1)).toISOString()).toBe('2026-02-28T08:00:00.000Z');
  expect(new Date(monthsBefore(Date.UTC(2026, 10, 25), 18)).toISOString()).toBe('2025-05-25T00:00:00.000Z');
});
