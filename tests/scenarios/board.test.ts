/** The board of an instrument in the real store: however its air arrived, it comes to the same. */
import { randomUUID } from 'node:crypto';
import { afterEach, beforeEach, describe, expect, test } from 'vitest';
import type { Reading } from '../../ingest/index.ts';
import {
  type PlacedInstrument,
  putInstrument,
  instrument as readInstrument,
} from '../../server/registry/instruments.ts';
import { firstOrganisation } from '../../server/registry/organisations.ts';
import { noteSensor, putPlacement } from '../../server/registry/sensors.ts';
import { putRoom, putVenue } from '../../server/registry/venues.ts';
import type { Viewer } from '../../server/registry/viewer.ts';
import { slabMeanPct } from '../../server/science/index.ts';
import { advanceBoard, boardDays, boardHours } from '../../server/series/board.ts';
import { dayMs } from '../../server/series/board-run.ts';
import { climateSources, hourMs } from '../../server/series/climate.ts';
import { openStores, type Stores } from '../../server/services.ts';
import { instrumentBody, roomBody } from '../support/api.ts';
import { temporaryFolder } from '../support/service.ts';

const urn = 'urn:dev:mac:0200000000cc01';
const startMs = Date.UTC(2025, 8, 1);

let folder: ReturnType<typeof temporaryFolder>;
let stores: Stores;
let viewer: Viewer;
let piano: PlacedInstrument;

beforeEach(async () => {
  folder = temporaryFolder();
  stores = await openStores(folder.path);
  viewer = await firstOrganisation(stores.db, startMs);
  const [venueId, roomId, instrumentId] = [randomUUID(), randomUUID(), randomUUID()];
  const { db } = stores;
  await putVenue(db, viewer, { id: venueId, name: 'Larkmoor', timeZone: 'Europe/Vienna' });
  await putRoom(db, viewer, { ...roomBody, id: roomId, venueId });
  await putInstrument(db, viewer, { ...instrumentBody, id: instrumentId, roomId });
  piano = await readInstrument(db, viewer, instrumentId);
  const news = {
    firstMs: startMs,
    lastMs: startMs,
    humidityPct: null,
    temperatureC: null,
    batteryPct: null,
    intervalMs: null,
  };
  const sensor = await noteSensor(db, viewer, { urn, ...news });
  const placement = {
    spot: 'room' as const,
    roomId,
    instrumentId: null,
    venueId: null,
    fromMs: startMs,
    untilMs: null,
  };
  await putPlacement(db, viewer, { ...placement, id: randomUUID(), sensorId: sensor.id });
});
afterEach(async () => {
  await stores.stop();
  folder.remove();
});

/** A season with fronts, hourly. */
const air = (hours: number): Reading[] =>
  Array.from({ length: hours }, (_, i) => ({
    organisation: viewer.organisationId,
    sensor: urn,
    timeMs: startMs + i * hourMs + 600_000,
    humidityPct: 45 + 12 * Math.sin(i / 400) + 6 * Math.sin(i / 37),
    temperatureC: 20 + 2 * Math.sin(i / 24),
  }));

const at = (hours: number): number => startMs + hours * hourMs;
const board = (hours: number, changedFromMs: number | null) =>
  advanceBoard(stores, viewer, piano, at(hours), changedFromMs);
const moisture = async (hours: number, changedFromMs: number | null) => {
  const state = await board(hours, changedFromMs);
  return state && slabMeanPct(state.slab);
};

describe('the board of an instrument', () => {
  test('hour by hour equals at once', async () => {
    await stores.store.append(air(500));
    const once = await board(500, null);
    await stores.db.deleteFrom('board_day').execute();
    await stores.db.deleteFrom('board_state').execute();
    // The first look must see the same first week, from which the board begins.
    let step = await board(200, null);
    for (let hours = 201; hours <= 500; hours++) step = await board(hours, null);
    expect(step).toEqual(once);
    const days = await boardDays(stores, viewer, [piano.id], at(499), 20);
    expect(days.get(piano.id)?.every((one) => one !== null)).toBe(true);
  });

  test('late readings come to the same as readings in time', async () => {
    const all = air(500);
    const late = all.slice(250, 330);
    await stores.store.append(all.filter((one) => !late.includes(one)));
    const without = await moisture(500, null);
    await stores.store.append(late);
    const afterwards = await moisture(500, late[0]?.timeMs ?? 0);
    await stores.db.deleteFrom('board_day').execute();
    await stores.db.deleteFrom('board_state').execute();
    const inTime = await moisture(500, null);
    expect(afterwards).toBeCloseTo(inTime ?? Number.NaN, 9);
    expect(Math.abs((without ?? 0) - (inTime ?? 0))).toBeGreaterThan(1e-6);
  });

  test('what is read back hour by hour ends where the kept state ends, and its days are the means of its hours', async () => {
    await stores.store.append(air(500));
    const mean = await moisture(500, null);
    const sources = await climateSources(stores.db, viewer, piano);
    const hours = await boardHours(stores, viewer, piano, sources, at(100), at(500));
    expect(hours?.fromMs).toBe(at(100));
    expect(hours?.moisturePct).toHaveLength(400);
    expect(hours?.moisturePct.at(-1)).toBeCloseTo(mean ?? Number.NaN, 9);
    const days = (await boardDays(stores, viewer, [piano.id], at(499), 3)).get(piano.id) ?? [];
    const from = Math.floor(at(499) / dayMs) * dayMs - 2 * dayMs;
    const day = await boardHours(stores, viewer, piano, sources, from, from + dayMs);
    const plainMean = (day?.moisturePct ?? []).reduce((sum, one) => sum + one, 0) / 24;
    expect(days[0]).toBeCloseTo(plainMean, 9);
  });

  test('a gap holds the profile and is said to be uncertain after two days', async () => {
    await stores.store.append(air(300));
    const before = await moisture(300, null);
    expect(await moisture(300 + 72, null)).toBeCloseTo(before ?? Number.NaN, 9);
    const sources = await climateSources(stores.db, viewer, piano);
    const hours = await boardHours(stores, viewer, piano, sources, at(299), at(372));
    expect(hours?.heldHours[0]).toBe(0);
    expect(hours?.heldHours.at(-1)).toBe(72);
  });

  test('air that was there before the first looked-at reading begins the board anew', async () => {
    const all = air(500);
    await stores.store.append(all.slice(200));
    await moisture(500, null);
    await stores.store.append(all.slice(0, 200));
    const anew = await moisture(500, startMs);
    await stores.db.deleteFrom('board_day').execute();
    await stores.db.deleteFrom('board_state').execute();
    expect(anew).toBeCloseTo((await moisture(500, null)) ?? Number.NaN, 9);
  });
});
