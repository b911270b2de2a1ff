/** The board of an instrument in the real store: however its air arrived, it comes to the same. */
import { afterEach, beforeEach, describe, expect, test } from 'vitest';
import type { Reading } from '../../ingest/index.ts';
import { slabMeanPct } from '../../server/science/index.ts';
import { advanceBoard, boardDays, boardHours } from '../../server/series/board.ts';
import { dayMs } from '../../server/series/board-run.ts';
import { climateSources, hourMs } from '../../server/series/climate.ts';
import { type OnePiano, onePiano } from '../support/one-piano.ts';

const urn = 'urn:dev:mac:0200000000cc01';
const startMs = Date.UTC(2025, 8, 1);

let here: OnePiano;
beforeEach(async () => {
  here = await onePiano(startMs);
  await here.sense(urn, startMs);
});
afterEach(() => here.stop());

/** A season with fronts, hourly. */
const air = (hours: number): Reading[] =>
  Array.from({ length: hours }, (_, i) => ({
    organisation: here.viewer.organisationId,
    sensor: urn,
    timeMs: startMs + i * hourMs + 600_000,
    humidityPct: 45 + 12 * Math.sin(i / 400) + 6 * Math.sin(i / 37),
    temperatureC: 20 + 2 * Math.sin(i / 24),
  }));

const at = (hours: number): number => startMs + hours * hourMs;
const board = (hours: number, changedFromMs: number | null) =>
  advanceBoard(here.stores, here.viewer, here.piano, at(hours), changedFromMs);
/** As if nothing of it had been worked out yet. */
const forgetBoard = async () => {
  await here.stores.db.deleteFrom('board_day').execute();
  await here.stores.db.deleteFrom('board_state').execute();
};
const moisture = async (hours: number, changedFromMs: number | null) => {
  const state = await board(hours, changedFromMs);
  return state && slabMeanPct(state.slab);
};

describe('the board of an instrument', () => {
  test('hour by hour equals at once', async () => {
    await here.stores.store.append(air(500));
    const once = await board(500, null);
    await forgetBoard();
    // The first look must see the same first week, from which the board begins.
    let step = await board(200, null);
    for (let hours = 201; hours <= 500; hours++) step = await board(hours, null);
    expect(step).toEqual(once);
    const days = await boardDays(here.stores, here.viewer, [here.piano.id], at(499), 20);
    expect(days.get(here.piano.id)?.every((one) => one !== null)).toBe(true);
  });

  test('late readings come to the same as readings in time', async () => {
    const all = air(500);
    const late = all.slice(250, 330);
    await here.stores.store.append(all.filter((one) => !late.includes(one)));
    const without = await moisture(500, null);
    await here.stores.store.append(late);
    const afterwards = await moisture(500, late[0]?.timeMs ?? 0);
    await forgetBoard();
    const inTime = await moisture(500, null);
    expect(afterwards).toBeCloseTo(inTime ?? Number.NaN, 9);
    expect(Math.abs((without ?? 0) - (inTime ?? 0))).toBeGreaterThan(1e-6);
  });

  test('what is read back hour by hour ends where the kept state ends, and its days are the means of its hours', async () => {
    await here.stores.store.append(air(500));
    const mean = await moisture(500, null);
    const sources = await climateSources(here.stores.db, here.viewer, here.piano);
    const hours = await boardHours(here.stores, here.viewer, here.piano, sources, at(100), at(500));
    expect(hours?.fromMs).toBe(at(100));
    expect(hours?.moisturePct).toHaveLength(400);
    expect(hours?.moisturePct.at(-1)).toBeCloseTo(mean ?? Number.NaN, 9);
    const days =
      (await boardDays(here.stores, here.viewer, [here.piano.id], at(499), 3)).get(here.piano.id) ?? [];
    const from = Math.floor(at(499) / dayMs) * dayMs - 2 * dayMs;
    const day = await boardHours(here.stores, here.viewer, here.piano, sources, from, from + dayMs);
    const plainMean = (day?.moisturePct ?? []).reduce((sum, one) => sum + one, 0) / 24;
    expect(days[0]).toBeCloseTo(plainMean, 9);
  });

  test('a gap holds the profile and is said to be uncertain after two days', async () => {
    await here.stores.store.append(air(300));
    const before = await moisture(300, null);
    expect(await moisture(300 + 72, null)).toBeCloseTo(before ?? Number.NaN, 9);
    const sources = await climateSources(here.stores.db, here.viewer, here.piano);
    const hours = await boardHours(here.stores, here.viewer, here.piano, sources, at(299), at(372));
    expect(hours?.heldHours[0]).toBe(0);
    expect(hours?.heldHours.at(-1)).toBe(72);
  });

  test('air that was there before the first looked-at reading begins the board anew', async () => {
    const all = air(500);
    await here.stores.store.append(all.slice(200));
    await moisture(500, null);
    await here.stores.store.append(all.slice(0, 200));
    const anew = await moisture(500, startMs);
    await forgetBoard();
    expect(anew).toBeCloseTo((await moisture(500, null)) ?? Number.NaN, 9);
  });
});
