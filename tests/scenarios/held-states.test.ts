/**
 * States are held in memory hours ahead of their rows: whatever hour the watch is ended in, it comes to what working it
 * all out at once comes to. Real watch and stores under a clock the story moves.
 */
import { afterEach, expect, test, vi } from 'vitest';
import { instrument } from '../../server/registry/instruments.ts';
import { advanceBoard, boardHours, boardNow } from '../../server/series/board.ts';
import { climateSources } from '../../server/series/climate.ts';
import { beginCourse, takeHour } from '../../server/watch/course.ts';
import { dayMs, hourMs, openStage, ramp, type Stage } from '../support/watch-stage.ts';

vi.setConfig({ testTimeout: 120_000 });

const startMs = Date.parse('2026-01-12T09:00:00Z');
let stage: Stage | null = null;
afterEach(async () => {
  await stage?.stop();
  stage = null;
});

test('the board taken on from its rows, with restarts between, is the board worked out at once', async () => {
  const now = await openStage(startMs);
  stage = now;
  const piano = await now.piano(await now.venue(), 'Hall', ramp(50, 35, startMs, startMs + 3 * dayMs));
  await now.past(10);
  const { db, store } = { db: now.stores.db, store: now.stores.air };
  const rowMs = async () =>
    (await db.selectFrom('board_state').select('hour_ms').executeTakeFirstOrThrow()).hour_ms;
  let behind = 0;
  for (let round = 0; round < 5; round++) {
    await now.pass((7 + 3 * round) * hourMs);
    behind = Math.max(behind, now.nowMs - (await rowMs()));
    await now.restart();
  }
  // Else nothing was held.
  expect(behind).toBeGreaterThan(3 * hourMs);
  await now.pass(5 * hourMs);

  const whole = await instrument(db, now.viewer, piano.id);
  const sources = await climateSources(db, now.viewer, whole);
  const held = await boardNow({ db, store }, now.viewer, whole, sources, now.nowMs);
  const course = await boardHours(
    { db, store },
    now.viewer,
    whole,
    sources,
    now.nowMs - 2 * dayMs,
    now.nowMs,
  );
  await db.deleteFrom('board_day').execute();
  await db.deleteFrom('board_state').execute();
  const once = await advanceBoard({ db, store }, now.viewer, whole, held?.atMs ?? 0, null);
  expect(once?.atMs).toBe(held?.atMs);
  expect(
    held?.slab.profilePct.map((one, i) => Math.abs(one - (once?.slab.profilePct[i] ?? 0)) < 1e-9),
  ).toEqual(held?.slab.profilePct.map(() => true));
  expect(held?.lagModes.every((one, k) => Math.abs(one - (once?.lagModes[k] ?? 0)) < 1e-9)).toBe(true);
  expect(held?.referencePct).toBeCloseTo(once?.referencePct ?? Number.NaN, 9);
  const again = await boardHours({ db, store }, now.viewer, whole, sources, now.nowMs - 2 * dayMs, now.nowMs);
  expect(course?.moisturePct.length).toBe(again?.moisturePct.length);
  for (const [i, one] of (course?.moisturePct ?? []).entries())
    expect(one).toBeCloseTo(again?.moisturePct[i] ?? Number.NaN, 9);
});

test('two courses that go on from one leave it and each other alone', () => {
  const hour = (humidityPct: number) => ({
    air: { humidityPct, temperatureC: 20 },
    moisturePct: null,
    referencePct: null,
  });
  const go = (from: ReturnType<typeof beginCourse>, values: readonly number[]) =>
    values.reduce((at, value) => takeHour(at, hour(value)), from);
  const lastOf = ({ air }: ReturnType<typeof beginCourse>, count: number) => [...air.slice(-count)];
  const before = go(beginCourse(0), [40, 41, 42]);
  const one = go(before, [43, 44]);
  const other = go(before, [53, 54]);
  expect(lastOf(before, 3)).toEqual([4000, 4100, 4200]);
  expect(lastOf(one, 4)).toEqual([4100, 4200, 4300, 4400]);
  expect(lastOf(other, 4)).toEqual([4100, 4200, 5300, 5400]);
  // Longer than a tape has room for.
  const days = Array.from({ length: 60 }, (_, i) => 30 + (i % 10));
  expect(lastOf(go(one, days), 60)).toEqual(days.map((value) => value * 100));
  expect(lastOf(other, 2)).toEqual([5300, 5400]);
});
