/** Which visits are asked for, and by which they are done: notices as the watch leaves them, visits as they are recorded. */
import { randomUUID } from 'node:crypto';
import type { Insertable } from 'kysely';
import { afterEach, beforeEach, describe, expect, test } from 'vitest';
import type { Call, Finding, RuleName } from '../../server/contract/index.ts';
import type { Records } from '../../server/db/schema.ts';
import { putMove } from '../../server/registry/moves.ts';
import { putRoom } from '../../server/registry/venues.ts';
import { chooseCall } from '../../server/watch/call-choices.ts';
import { notices } from '../../server/watch/notices.ts';
import { openCalls } from '../../server/watch/open-calls.ts';
import { roundsPage } from '../../server/watch/rounds-page.ts';
import { putSettings } from '../../server/watch/settings.ts';
import { roomBody, tuning } from '../support/api.ts';
import { dayMs, hourMs, openStage, type Piano, type Stage, steady } from '../support/watch-stage.ts';
import { sheet } from '../visits/sheet.ts';

const startMs = Date.parse('2026-02-02T09:00:00Z');
const looked: Finding = {
  ...{ assembly: 'pinblock and pins', part: 'torque', conditionClass: 0, urgencyClass: 0 },
  ...{ recommendationClass: 0, words: '', workProposed: null, estimatedMinutes: null, measured: null },
};

describe('calls', () => {
  let stage: Stage;
  let piano: Piano;
  beforeEach(async () => {
    stage = await openStage(startMs);
    const off = { 'watch sensor-silent': 0 };
    await putSettings(stage.stores.db, stage.viewer, 'organisation', stage.viewer.organisationId, off);
    // Nothing is heard of its air: notices stay as they are put.
    piano = await stage.piano(await stage.venue(), 'Salon', () => null);
  });
  afterEach(() => stage.stop());

  async function put(rule: RuleName, changes: Partial<Insertable<Records['notice']>> = {}): Promise<string> {
    const id = randomUUID();
    const organisation_id = stage.viewer.organisationId;
    const words = {
      place: 'Larkmoor · Salon · Grand',
      why: '',
      to_do: 'See to it.',
      minutes: 30,
      evidence: '{}',
    };
    await stage.stores.db
      .insertInto('notice')
      .values({
        ...{ id, organisation_id, rule, severity: 1, state: 'open', what: `${rule}.`, ...words },
        ...{ subject_id: piano.id, instrument_id: piano.id, sensor_id: null, venue_id: piano.venueId },
        ...{ began_ms: stage.nowMs, over_ms: null, not_before_ms: null, ...changes },
      })
      .execute();
    await event(id, 'begins', Number(changes.began_ms ?? stage.nowMs));
    return id;
  }
  const event = (notice_id: string, kind: string, at_ms: number) =>
    stage.stores.db
      .insertInto('notice_event')
      .values({ organisation_id: stage.viewer.organisationId, notice_id, at_ms, kind, severity: 1, note: '' })
      .execute();
  const calls = () => openCalls(stage.stores.db, stage.viewer, stage.nowMs);
  const kinds = async () => (await calls()).map((one: Call) => one.kind);
  const visit = (findings: readonly Finding[], sound: readonly string[] = []) =>
    stage.visit(
      tuning(piano.id, stage.nowMs - hourMs, {
        ...{ findings: [...findings], asLeft: null },
        sheet: sheet({ sound: [...sound] }),
      }),
    );

  test('a weak battery is the venue’s to change for two weeks, then somebody’s who comes', async () => {
    await put('battery-low', { minutes: 10 });
    expect(await kinds()).toEqual([]);
    await stage.pass(15 * dayMs, 15 * dayMs);
    expect(await calls()).toMatchObject([{ kind: 'sensor', minutes: 10 }]);
  });

  test('air that swings is the venue’s matter; a third time in three months it is looked at', async () => {
    const over = (days: number) => ({
      state: 'over',
      began_ms: startMs - days * dayMs,
      over_ms: startMs - dayMs,
    });
    await put('swing', { minutes: 0 });
    await put('swing', over(40));
    await put('swing', over(120));
    expect(await kinds()).toEqual([]);
    await put('swing', over(80));
    const [call] = await calls();
    expect(call).toMatchObject({ kind: 'inspection', minutes: 45 });
    expect(call?.why).toContain('third time in three months');
  });

  test('of a whole venue are gone for once where its sensors are silent, and at each piano where the air asks', async () => {
    const { venueId } = piano;
    const whole = { subject_id: venueId, instrument_id: null, minutes: 0, place: 'Larkmoor' };
    const dry = await put('board-dry', whole);
    await put('board-dry', { part_of: dry });
    const silent = await put('sensor-silent', whole);
    const sensor = { subject_id: randomUUID(), instrument_id: null, sensor_id: randomUUID(), minutes: 10 };
    await put('sensor-silent', { ...sensor, part_of: silent });
    await stage.pass(2 * dayMs, dayMs);
    const all = await calls();
    expect(all.map(({ kind, instrumentId, minutes }) => [kind, instrumentId, minutes]).toSorted()).toEqual([
      ['humidity control', piano.id, 30],
      ['sensor', null, 30],
    ]);
  });

  test('one that the air keeps open is done by a visit that looked the piano over; worse, it asks anew', async () => {
    const id = await put('pins-dry');
    await stage.pass(dayMs, dayMs);
    expect(await kinds()).toEqual(['repair']);
    await visit([]);
    expect(await kinds()).toEqual(['repair']);
    await visit([], ['pins.torque']);
    expect(await kinds()).toEqual([]);
    const { done } = await roundsPage(stage.stores.db, stage.viewer, stage.nowMs);
    expect(done).toMatchObject([{ kind: 'repair', instrumentId: piano.id }]);
    await stage.pass(dayMs, dayMs);
    await event(id, 'worse', stage.nowMs);
    expect(await kinds()).toEqual(['repair']);
    await stage.pass(dayMs, dayMs);
    await visit([looked]);
    expect(await kinds()).toEqual([]);
  });

  test('of a piano that is retired there are none any more: what was open of it is over', async () => {
    await put('pins-dry');
    await stage.pass(dayMs, dayMs);
    const { db } = stage.stores;
    const move = { id: randomUUID(), instrumentId: piano.id, atMs: stage.nowMs, roomId: null, words: 'sold' };
    await putMove(db, stage.viewer, move);
    await stage.watch.reconsider(stage.viewer, [piano.id], null);
    expect(await calls()).toEqual([]);
    expect(await stage.notices()).toMatchObject([
      { state: 'over', endedBecause: 'the instrument was retired' },
    ]);
  });

  test('of a piano that is moved lead to where it stands now, also where nothing is heard of it there', async () => {
    const { db } = stage.stores;
    const damp = await stage.piano(piano.venueId, 'Hall', steady(67));
    await stage.past(30);
    await stage.pass(2 * hourMs);
    expect((await calls()).map((one) => one.venueId)).toContain(damp.venueId);
    const other = await stage.venue('Quillmere Hall');
    const room = { ...roomBody, id: randomUUID(), venueId: other, name: 'Foyer' };
    await putRoom(db, stage.viewer, room);
    const move = { id: randomUUID(), instrumentId: damp.id, atMs: stage.nowMs, roomId: room.id, words: '' };
    await putMove(db, stage.viewer, move);
    await stage.watch.reconsider(stage.viewer, [damp.id], null);
    await stage.pass(12 * hourMs, 6 * hourMs);
    const open = (await stage.openNotices()).filter((one) => one.instrumentId === damp.id);
    expect(open.length).toBeGreaterThan(0);
    for (const one of open) {
      expect(one).toMatchObject({ state: 'frozen', venueId: other });
      expect(one.place).toMatch(/^Quillmere Hall · Foyer · /);
    }
    for (const one of await calls()) expect(one.venueName).toBe('Quillmere Hall');
  });

  test('of a large fleet are all there, and of what is over the newest is shown', async () => {
    const sensors = Array.from({ length: 1005 }, () => randomUUID());
    for (const id of sensors) {
      await put('sensor-stuck', { subject_id: id, instrument_id: null, sensor_id: id });
    }
    expect(await calls()).toHaveLength(1005);
    const { db } = stage.stores;
    const [last = '', ...others] = sensors;
    const over = { state: 'over', over_ms: stage.nowMs };
    await db.updateTable('notice').set(over).where('sensor_id', 'in', others).execute();
    await db
      .updateTable('notice')
      .set({ ...over, began_ms: stage.nowMs + hourMs })
      .where('sensor_id', '=', last)
      .execute();
    const shown = await stage.notices();
    expect([shown.length, shown[0]?.sensorId]).toEqual([1000, last]);
    expect(await notices(db, stage.viewer, { over: true, all: true })).toHaveLength(1005);
  });

  test('and by whatever visit comes on the day that was planned for it', async () => {
    await put('board-dry');
    const [call] = await calls();
    const plannedMs = stage.nowMs + 2 * dayMs;
    const choice = { choice: 'accepted', plannedMs, personId: null, reason: '' } as const;
    await chooseCall(stage.stores.db, stage.viewer, call?.id ?? '', choice, stage.nowMs);
    await stage.pass(dayMs, dayMs);
    await visit([]);
    expect(await kinds()).toEqual(['humidity control']);
    await stage.pass(dayMs + 2 * hourMs, dayMs);
    await visit([]);
    expect(await kinds()).toEqual([]);
    await stage.pass(3 * dayMs, dayMs);
    expect(await kinds()).toEqual([]);
  });
});
