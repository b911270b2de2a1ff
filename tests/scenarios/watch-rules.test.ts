/** Each rule about air and sensors on a timeline: when it speaks, when it keeps quiet, and how seldom it repeats itself. */
import { randomUUID } from 'node:crypto';
import { afterEach, describe, expect, test } from 'vitest';
import type { Notice, RuleName } from '../../server/contract/index.ts';
import { noteSensor, putPlacement } from '../../server/registry/sensors.ts';
import { acknowledge, snooze } from '../../server/watch/notice-acts.ts';
import { putSettings, settingsAt } from '../../server/watch/settings.ts';
import { tuning } from '../support/api.ts';
import {
  type AirCourse,
  dayMs,
  hourMs,
  openStage,
  ramp,
  type Stage,
  steady,
} from '../support/watch-stage.ts';

const startMs = Date.parse('2026-01-12T09:00:00Z');
let stage: Stage;
afterEach(() => stage.stop());

const of = (all: readonly Notice[], rule: RuleName) => all.filter((one) => one.rule === rule);
const told = async (rule: RuleName) => of(await stage.notices(), rule);
/** One value until a time, another from then on; each with its daily breath. */
const step =
  (before: AirCourse, after: AirCourse, atMs: number): AirCourse =>
  (timeMs) =>
    timeMs < atMs ? before(timeMs) : after(timeMs);

async function alone(air: AirCourse, pastDays = 30): Promise<Stage['pianos'][number]> {
  stage = await openStage(startMs);
  const piano = await stage.piano(await stage.venue(), 'Hall', air);
  await stage.past(pastDays);
  return piano;
}

describe('damp', () => {
  test('rust is told after two days over 65 % in a week, once, with what to mind at the strings', async () => {
    await alone(step(steady(50), steady(68), startMs));
    await stage.pass(1.8 * dayMs, 6 * hourMs);
    expect(await told('rust')).toEqual([]);
    await stage.pass(8 * dayMs, 6 * hourMs);
    const [rust, ...more] = await told('rust');
    expect(more).toEqual([]);
    expect(rust).toMatchObject({ state: 'open', severity: 1 });
    expect(rust?.beganMs).toBeGreaterThanOrEqual(startMs + 47 * hourMs);
    expect(rust?.what).toMatch(/over 65\u00a0% for \d+ of the last 168\u00a0hours/);
  });

  test('mould is told after weeks of very damp air, not after days', async () => {
    await alone(step(steady(55, 21), steady(92, 21), startMs - 8 * dayMs));
    expect(await told('mould')).toEqual([]);
    await stage.pass(40 * dayMs, 12 * hourMs);
    const [mould, ...more] = await told('mould');
    expect(more).toEqual([]);
    expect(mould).toMatchObject({ state: 'open' });
    expect(mould?.severity).toBeGreaterThanOrEqual(2);
    expect(mould?.toDo).toContain('before anything is cleaned');
  });

  test('sweat is told within the hour in which warm damp air comes to a cold piano; nights in a row are one notice', async () => {
    // A church at 6 °C; each evening for a week its doors stand open to mild damp air for three hours.
    const evening: AirCourse = (timeMs) =>
      timeMs > startMs && (timeMs - startMs) % dayMs < 3 * hourMs
        ? { humidityPct: 88, temperatureC: 15 }
        : { humidityPct: 60 + Math.sin(timeMs / hourMs), temperatureC: 6 };
    await alone(evening);
    await stage.pass(2.2 * hourMs, hourMs / 2);
    const [first] = await told('sweat');
    expect(first).toMatchObject({ state: 'open' });
    expect(first?.severity).toBeGreaterThanOrEqual(2);
    await stage.pass(6 * dayMs, hourMs);
    expect(await told('sweat')).toHaveLength(1);
  });
});

describe('air that swings', () => {
  test('by fourteen points in a day and a half is told; three weeks of it are one notice', async () => {
    const swings: AirCourse = (timeMs) => ({
      humidityPct: 45 + (timeMs > startMs ? 7 * Math.sin((2 * Math.PI * timeMs) / (3 * dayMs)) : 0),
      temperatureC: 20 + 0.4 * Math.sin(timeMs / hourMs),
    });
    await alone(swings);
    await stage.pass(21 * dayMs, 6 * hourMs);
    expect(await told('swing')).toHaveLength(1);
  });

  test('a spike of two hours is none', async () => {
    await alone((timeMs) =>
      timeMs > startMs + 5 * hourMs && timeMs < startMs + 7 * hourMs
        ? { humidityPct: 75, temperatureC: 21 }
        : steady(45)(timeMs),
    );
    await stage.pass(3 * dayMs, 3 * hourMs);
    expect(await told('swing')).toEqual([]);
  });
});

describe('tuning pins in dry air', () => {
  /** Winters of one dryness, summers of 50 %; this winter may differ. */
  const winters =
    (usualPct: number, thisPct: number): AirCourse =>
    (timeMs) => {
      const season = Math.cos((2 * Math.PI * (timeMs - Date.UTC(2026, 0, 20))) / (365.25 * dayMs));
      const low = timeMs > startMs - 70 * dayMs ? thisPct : usualPct;
      return steady(50 - (50 - low) * Math.max(0, season) ** 0.5)(timeMs);
    };

  test('without a past of its own the air of two weeks must do', async () => {
    await alone(step(steady(45), steady(26), startMs - 2 * dayMs), 60);
    expect(await told('pins-dry')).toEqual([]);
    await stage.pass(20 * dayMs, 12 * hourMs);
    expect((await told('pins-dry'))[0]?.what).toMatch(/^Two weeks of air at the piano average/);
  });

  test('a block is told of when it dries below its own past, and not where each winter is as dry', async () => {
    stage = await openStage(startMs);
    const venue = await stage.venue();
    const worse = await stage.piano(venue, 'Studio', winters(40, 30));
    const usual = await stage.piano(venue, 'Attic', winters(28, 28));
    const weak = await stage.piano(venue, 'Cellar', winters(28, 28));
    const finding = {
      assembly: 'pinblock and pins',
      part: 'tenor pins',
      conditionClass: 2,
      urgencyClass: 1,
      recommendationClass: 2,
      words: '',
      workProposed: null,
      estimatedMinutes: null,
      measured: { value: 3.2, unit: 'N m' },
    } as const;
    await stage.past(700);
    await stage.visit(tuning(weak.id, startMs - 300 * dayMs, { findings: [finding] }));
    await stage.pass(3 * dayMs, 12 * hourMs);
    const all = await told('pins-dry');
    expect(all.find((one) => one.instrumentId === worse.id)?.what).toMatch(
      /Its pinblock has dried to .+ moisture, below the .+ of its driest season so far/,
    );
    expect(all.filter((one) => one.instrumentId === usual.id)).toEqual([]);
    // Failing pins let go before the block is as dry as it was once.
    const failing = all.find((one) => one.instrumentId === weak.id);
    expect(failing).toMatchObject({ severity: 2 });
    expect(failing?.why).toContain('3.2\u00a0N·m');
  });
});

describe('a sensor that stands apart from its neighbour', () => {
  test('is told of, the newer one is asked first, and what rests on it is muted and says why', async () => {
    stage = await openStage(startMs);
    const piano = await stage.piano(await stage.venue(), 'Hall', steady(58));
    const urn = 'urn:dev:mac:02000000ff01';
    const none = { humidityPct: null, temperatureC: null, batteryPct: null, intervalMs: null };
    const firstMs = startMs - 12 * dayMs;
    const sensor = await noteSensor(stage.stores.db, stage.viewer, {
      urn,
      firstMs,
      lastMs: firstMs,
      ...none,
    });
    await putPlacement(stage.stores.db, stage.viewer, {
      id: randomUUID(),
      sensorId: sensor.id,
      spot: 'room',
      roomId: piano.roomId,
      instrumentId: null,
      venueId: null,
      fromMs: firstMs,
      untilMs: null,
    });
    const second = { ...piano, urn, air: steady(69) };
    await stage.past(40);
    stage.pianos.push(second);
    await stage.pass(12 * dayMs, 6 * hourMs);
    const [off, ...more] = await told('sensor-off');
    expect(more).toEqual([]);
    expect(off).toMatchObject({ sensorId: sensor.id, state: 'open' });
    expect(off?.what).toMatch(/1\d\.\d\u00a0points above its neighbours/);
    const resting = (await stage.openNotices()).filter(
      (one) => one.instrumentId === piano.id && !one.sensorId,
    );
    expect(resting.length).toBeGreaterThan(0);
    for (const one of resting) {
      expect(one.state).toBe('frozen');
      expect(one.frozenBecause).toContain('stands apart from its neighbours');
    }
  });
});

describe('a second wave at a venue', () => {
  test('weeks after the first is one notice of its own that takes over what was left', async () => {
    stage = await openStage(startMs);
    const venue = await stage.venue('Fernmoor Conservatory');
    const begins = (i: number) => startMs + (i < 4 ? dayMs : 22 * dayMs);
    for (let i = 0; i < 9; i++) {
      await stage.piano(venue, `Room ${i}`, step(steady(50), steady(67), begins(i)));
    }
    await stage.past(30);
    await stage.pass(10 * dayMs, 6 * hourMs);
    const first = (await stage.openNotices()).find((one) => one.rule === 'action-wet' && one.members > 0);
    const untilMs = startMs + 60 * dayMs;
    await snooze(stage.stores.db, stage.viewer, first?.id ?? '', { untilMs, by: 'Ilva' }, stage.nowMs);
    await stage.pass(22 * dayMs, 6 * hourMs);
    const wholes = (await told('action-wet')).filter((one) => one.partOf === null);
    expect(wholes.map((one) => one.state).sort()).toEqual(['open', 'over']);
    expect(wholes.find((one) => one.state === 'open')).toMatchObject({
      members: 9,
      place: 'Fernmoor Conservatory',
      // The matter was left alone, and is no graver for being more of it.
      snoozedUntilMs: untilMs,
    });
    expect(wholes.find((one) => one.state === 'over')?.endedBecause).toContain('goes on in a new notice');
  });
});

describe('settings', () => {
  test('hold where they were set and below, the nearest counts, each says whence; the watch keeps to them', async () => {
    stage = await openStage(startMs);
    const { db } = stage.stores;
    const organisation = stage.viewer.organisationId;
    const strict = await stage.venue('Strict house');
    const lax = await stage.venue('Lax house');
    const air = step(steady(50), steady(58), startMs);
    const [a, b] = [await stage.piano(strict, 'One', air), await stage.piano(strict, 'Two', air)];
    const c = await stage.piano(lax, 'Three', air);
    const put = (scope: Parameters<typeof putSettings>[2], id: string, begins: number, ends: number) =>
      putSettings(db, stage.viewer, scope, id, { 'damp begins': begins, 'damp ends': ends });
    await put('organisation', organisation, 62, 60);
    await put('venue', strict, 56, 54);
    await put('room', b.roomId, 61, 58);
    const whence = async (scope: 'venue' | 'room' | 'instrument', id: string) => {
      const page = await settingsAt(db, stage.viewer, scope, id);
      const one = page.settings.find(({ name }) => name === 'damp begins');
      return `${one?.value} ${one?.from}`;
    };
    expect(await whence('instrument', a.id)).toBe('56 from the venue');
    expect(await whence('instrument', b.id)).toBe('61 from the room');
    expect(await whence('instrument', c.id)).toBe('62 from the organisation');
    expect(await whence('room', b.roomId)).toBe('61 set here');
    await stage.past(30);
    await stage.pass(8 * dayMs, 6 * hourMs);
    expect((await told('action-wet')).map((one) => one.instrumentId)).toEqual([a.id]);
    // The instrument's own value overrules its room's.
    await put('instrument', b.id, 55, 53);
    expect(await whence('instrument', b.id)).toBe('55 set here');
    await stage.watch.reconsider(stage.viewer, [b.id], null);
    await stage.pass(dayMs, 6 * hourMs);
    expect((await told('action-wet')).map((one) => one.instrumentId).sort()).toEqual([a.id, b.id].sort());
  });
});

/** Damp for six days, and again from the 25th on. @returns what is told after five of them */
async function dampFiveDays(): Promise<Notice> {
  const damp = (timeMs: number) =>
    (timeMs > startMs && timeMs < startMs + 6 * dayMs) || timeMs > startMs + 25 * dayMs;
  await alone((timeMs) => (damp(timeMs) ? steady(66)(timeMs) : steady(45)(timeMs)));
  await stage.pass(5 * dayMs, 6 * hourMs);
  const [first] = await told('action-wet');
  if (!first) throw new Error('it is damp');
  return first;
}

test('an acknowledgement belongs to its episode: the next one begins without it', async () => {
  const first = await dampFiveDays();
  const by = { by: 'Ilva', note: 'windows shut' };
  await acknowledge(stage.stores.db, stage.viewer, first.id, by, stage.nowMs);
  await stage.pass(2 * dayMs, 6 * hourMs);
  expect((await told('action-wet')).find((one) => one.id === first.id)?.acknowledged?.note).toBe(
    'windows shut',
  );
  await stage.pass(25 * dayMs, 6 * hourMs);
  const episodes = await told('action-wet');
  expect(episodes).toHaveLength(2);
  const next = episodes.find((one) => one.id !== first.id);
  expect(next).toMatchObject({ state: 'open', acknowledged: null });
  await expect(acknowledge(stage.stores.db, stage.viewer, first.id, by, stage.nowMs)).rejects.toThrow(
    'this notice is over',
  );
});

test('what is left alone until a time stays left alone, also where it ends and begins again meanwhile', async () => {
  const first = await dampFiveDays();
  const untilMs = startMs + 60 * dayMs;
  await snooze(stage.stores.db, stage.viewer, first.id, { untilMs, by: 'Ilva' }, stage.nowMs);
  await stage.pass(27 * dayMs, 6 * hourMs);
  const next = (await told('action-wet')).find((one) => one.id !== first.id);
  expect(next).toMatchObject({ state: 'open', snoozedUntilMs: untilMs });
  // Another matter of the same piano is told.
  expect(of(await stage.openNotices(), 'rust')).toMatchObject([{ snoozedUntilMs: null }]);
});

test('rooms that dry slowly together in a frost make one notice of boards, which is frozen only when all are', async () => {
  stage = await openStage(startMs);
  const venue = await stage.venue('Fernmoor Conservatory');
  const dies = startMs + 14 * dayMs;
  for (let i = 0; i < 4; i++) {
    const dry = ramp(46, 18, startMs, startMs + 30 * hourMs);
    await stage.piano(venue, `Room ${i}`, (timeMs) => (i === 0 && timeMs > dies ? null : dry(timeMs)));
  }
  await stage.past(60);
  await stage.pass(16 * dayMs, 6 * hourMs);
  const all = of(await stage.openNotices(), 'board-dry');
  const whole = all.find((one) => one.instrumentId === null);
  expect(whole).toMatchObject({ state: 'open', members: 4 });
  expect(all.filter((one) => one.state === 'frozen')).toHaveLength(1);
});
