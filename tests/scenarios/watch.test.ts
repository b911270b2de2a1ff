/** The watch on a timeline: a fake clock, the real stores, and what the rules make of a story. */

import { randomUUID } from 'node:crypto';
import { afterEach, describe, expect, test } from 'vitest';
import type { Notice } from '../../server/contract/index.ts';
import { putEvent } from '../../server/registry/events.ts';
import { historyOf } from '../../server/watch/notice-acts.ts';
import { openCalls } from '../../server/watch/open-calls.ts';
import { tuning } from '../support/api.ts';
import { airUntilPulled, fitControl } from '../support/controlled-piano.ts';
import {
  type AirCourse,
  dayMs,
  hourMs,
  minuteMs,
  openStage,
  ramp,
  type Stage,
  steady,
} from '../support/watch-stage.ts';

/** A Monday in January, ten in the morning in Vienna. */
const startMs = Date.parse('2026-01-12T09:00:00Z');
let stage: Stage;
afterEach(() => stage.stop());

const of = (all: readonly Notice[], rule: Notice['rule']) => all.filter((one) => one.rule === rule);
const told = (all: readonly Notice[]) => all.filter((one) => one.partOf === null);

describe('the first hard frost in a conservatory of 20 rooms', () => {
  test('is one notice of the venue, with its members', async () => {
    stage = await openStage(startMs);
    const venue = await stage.venue('Fernmoor Conservatory');
    for (let i = 0; i < 20; i++) {
      const from = startMs + 6 * hourMs + i * 0.7 * hourMs;
      await stage.piano(venue, `Practice room ${i + 1}`, ramp(44, 24 - (i % 5), from, from + 20 * hourMs));
    }
    await stage.past(60);
    expect(await stage.notices()).toEqual([]);
    await stage.pass(3 * dayMs);
    const swings = of(await stage.openNotices(), 'swing');
    expect(swings).toHaveLength(21);
    const [whole, ...others] = told(swings);
    expect(others).toEqual([]);
    expect(whole).toMatchObject({ place: 'Fernmoor Conservatory', instrumentId: null, members: 20 });
    expect(whole?.what).toContain('20 of 20 pianos');
    // Dryness of the boards follows in a second notice of the venue; nobody is told twenty times.
    await stage.pass(12 * dayMs, 3 * hourMs);
    const dry = told(of(await stage.openNotices(), 'board-dry'));
    expect(dry).toHaveLength(1);
    // It grew worse at its pianos, and that was told of the whole: nobody hears of its members.
    const { events } = await historyOf(stage.stores.db, stage.viewer, dry[0]?.id ?? '');
    expect(events.map(({ kind }) => kind)).toContain('worse');
    expect(dry[0]?.severity).toBe(3);
    expect(told(await stage.notices()).length).toBeLessThanOrEqual(3);
  });
});

describe('a value that hovers at its limit', () => {
  test('makes one notice', async () => {
    stage = await openStage(startMs);
    const venue = await stage.venue();
    // Three days' mean walks about 60 % every few hours for two weeks.
    const hover: AirCourse = (timeMs) =>
      timeMs < startMs
        ? steady(55)(timeMs)
        : {
            humidityPct: 60.2 + 1.2 * Math.sin((timeMs - startMs) / (9 * hourMs)),
            temperatureC: 20 + 0.3 * Math.sin(timeMs / hourMs),
          };
    await stage.piano(venue, 'Hall', hover);
    await stage.past(40);
    await stage.pass(16 * dayMs);
    expect(of(await stage.notices(), 'action-wet')).toHaveLength(1);
  });
});

describe('an unplugged humidity control', () => {
  test('is found from the share of the gap that the inside follows, asks the venue first, then for hands', async () => {
    stage = await openStage(startMs);
    const venue = await stage.venue();
    const pulledMs = startMs + 5 * dayMs;
    const { room, inside } = airUntilPulled(pulledMs);
    const piano = await stage.piano(venue, 'Studio 2', room);
    await fitControl(stage, piano, inside);
    await stage.past(90);
    await stage.watch.reconsider(stage.viewer, [piano.id], null);
    expect(of(await stage.notices(), 'control-lost')).toEqual([]);
    await stage.pass(5 * dayMs + 5 * dayMs);
    const [lost] = of(await stage.openNotices(), 'control-lost');
    expect(lost).toMatchObject({ instrumentId: piano.id, severity: 2 });
    expect(lost?.toVenue).toContain('plugged in');
    expect(lost?.why).toMatch(/^Likely it is unplugged or switched off, in \d.of 10 cases: /);
    expect(Math.abs((lost?.beganMs ?? 0) - pulledMs)).toBeLessThan(4 * dayMs);
  });
});

describe('a recital in ten days', () => {
  const concert = async (air: AirCourse) => {
    stage = await openStage(startMs);
    const venue = await stage.venue('Quillmere Recital Hall');
    const piano = await stage.piano(venue, 'Auditorium', air, { use: 'concert' });
    await putEvent(stage.stores.db, stage.viewer, {
      id: randomUUID(),
      venueId: venue,
      name: 'Winter recital',
      startMs: startMs + 10 * dayMs,
      instrumentIds: [piano.id],
    });
    await stage.past(60);
    return piano;
  };

  /** Two days before, whether or not there is anything to warn of. */
  async function expectTuningCall(instrumentId: string): Promise<void> {
    const calls = await openCalls(stage.stores.db, stage.viewer, stage.nowMs);
    const tunings = calls.filter((one) => one.kind === 'tuning' && one.why.includes('Winter recital'));
    expect(tunings).toMatchObject([
      { instrumentId, earliestMs: startMs + 8 * dayMs, latestMs: startMs + 10 * dayMs },
    ]);
  }

  test('warns only where a tuning would not hold', async () => {
    const piano = await concert(steady(45));
    expect(of(await stage.notices(), 'event-unsteady')).toEqual([]);
    await expectTuningCall(piano.id);
  });

  test('and does where the board moves', async () => {
    const piano = await concert((timeMs) => ({
      humidityPct: 45 + 14 * Math.sin((2 * Math.PI * timeMs) / (5 * dayMs)),
      temperatureC: 20 + 0.3 * Math.sin(timeMs / hourMs),
    }));
    const [unsteady] = of(await stage.openNotices(), 'event-unsteady');
    expect(unsteady?.what).toMatch(/hold for Winter recital/);
    await expectTuningCall(piano.id);
  });
});

describe('readings that come late', () => {
  test('end a notice that they show to have been mistaken, and say so', async () => {
    stage = await openStage(startMs);
    const venue = await stage.venue();
    // Two days of damp readings and a day of silence; then the silent day arrives: it was dry.
    const damp = startMs + 2 * dayMs;
    const piano = await stage.piano(venue, 'Church', (timeMs) =>
      timeMs >= startMs && timeMs < damp && Math.floor((timeMs - startMs) / hourMs) % 2 === 0
        ? { humidityPct: 72, temperatureC: 15 + Math.sin(timeMs / hourMs) }
        : timeMs >= startMs && timeMs < damp
          ? null
          : steady(52, 15)(timeMs),
    );
    await stage.past(40);
    await stage.pass(3.2 * dayMs);
    expect(of(await stage.openNotices(), 'action-wet')).toHaveLength(1);
    // The hours that were missing between come by another way: dry ones.
    const missing = { ...piano, air: steady(48, 15) };
    for (let hour = 1; hour < 48; hour += 2) {
      await stage.measure(startMs + hour * hourMs, startMs + (hour + 1) * hourMs, [missing]);
    }
    await stage.pass(hourMs, 10 * minuteMs);
    const [ended] = of(await stage.notices(), 'action-wet');
    expect(ended).toMatchObject({ state: 'over', endedBecause: 'readings that came late show it otherwise' });
  });
});

describe('a sensor that dies in the frost', () => {
  test('freezes what was open, neither ends nor begins anything, and its silence is a notice of its own', async () => {
    stage = await openStage(startMs);
    const venue = await stage.venue();
    const diesMs = startMs + 9 * dayMs;
    const course = ramp(46, 18, startMs, startMs + 30 * hourMs);
    await stage.piano(venue, 'Salon', (timeMs) =>
      timeMs >= diesMs && timeMs < diesMs + 6 * dayMs ? null : course(timeMs),
    );
    await stage.past(80);
    await stage.pass(9 * dayMs, 2 * hourMs);
    const before = of(await stage.openNotices(), 'board-dry');
    expect(before).toHaveLength(1);
    await stage.pass(5 * dayMs, 2 * hourMs);
    const during = await stage.openNotices();
    expect(of(during, 'board-dry')).toMatchObject([{ id: before[0]?.id, state: 'frozen' }]);
    expect(of(during, 'board-dry')[0]?.frozenBecause).toContain('nothing was heard');
    expect(of(during, 'sensor-silent')).toHaveLength(1);
    await stage.pass(3 * dayMs, 2 * hourMs);
    const after = await stage.notices();
    expect(of(after, 'board-dry')).toMatchObject([{ id: before[0]?.id, state: 'open' }]);
    expect(of(after, 'sensor-silent')).toMatchObject([{ state: 'over' }]);
  });

  test('a restart in between says nothing twice and forgets nothing', async () => {
    stage = await openStage(startMs);
    const venue = await stage.venue();
    await stage.piano(venue, 'Salon', ramp(46, 18, startMs, startMs + 30 * hourMs));
    await stage.past(80);
    for (let day = 0; day < 9; day++) {
      await stage.pass(dayMs, 2 * hourMs);
      await stage.restart();
    }
    const all = await stage.notices();
    expect(of(all, 'board-dry')).toHaveLength(1);
    expect(new Set(all.map((one) => one.rule)).size).toBe(all.length);
  });
});

describe('a stuck sensor', () => {
  test('is noticed against the others of its venue and mutes what rests on it', async () => {
    stage = await openStage(startMs);
    const venue = await stage.venue();
    const moving =
      (phase: number): AirCourse =>
      (timeMs) => ({
        humidityPct: 45 + 3 * Math.sin(timeMs / (7 * hourMs) + phase),
        temperatureC: 20 + 0.6 * Math.sin(timeMs / (5 * hourMs)),
      });
    for (const phase of [0, 1, 2]) await stage.piano(venue, `Room ${phase}`, moving(phase));
    const stuckMs = startMs + dayMs;
    const piano = await stage.piano(venue, 'Parish room', (timeMs) =>
      timeMs < stuckMs ? moving(3)(timeMs) : { humidityPct: 88, temperatureC: 20 },
    );
    await stage.past(40);
    await stage.pass(6 * dayMs);
    const open = await stage.openNotices();
    expect(of(open, 'sensor-stuck')).toHaveLength(1);
    const others = open.filter((one) => one.instrumentId === piano.id && one.sensorId === null);
    expect(others.every((one) => one.state === 'frozen')).toBe(true);
  });
});

describe('a tuning', () => {
  test('ends the notice that asked for it, also while the air is not heard', async () => {
    stage = await openStage(startMs);
    const venue = await stage.venue();
    const silentMs = startMs + 31 * dayMs;
    const course = ramp(48, 34, startMs, startMs + 5 * dayMs);
    const piano = await stage.piano(venue, 'Studio', (timeMs) => (timeMs > silentMs ? null : course(timeMs)));
    await stage.past(60);
    await stage.visit(tuning(piano.id, startMs));
    await stage.pass(32 * dayMs, 4 * hourMs);
    expect(of(await stage.openNotices(), 'pitch-out')).toMatchObject([{ state: 'frozen' }]);
    await stage.visit(tuning(piano.id, stage.nowMs));
    expect(of(await stage.notices(), 'pitch-out')).toMatchObject([{ state: 'over' }]);
  });
});
