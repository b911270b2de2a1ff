/** Care notes by situation: each in its own words, with the cautions, the technician's name, and never two in a week for the same calm matter. */
import { randomUUID } from 'node:crypto';
import type { Insertable } from 'kysely';
import { afterEach, describe, expect, test } from 'vitest';
import type { PersonBody, RuleName } from '../../server/contract/index.ts';
import type { Records } from '../../server/db/schema.ts';
import { putMove } from '../../server/registry/moves.ts';
import { putPerson } from '../../server/registry/people.ts';
import { putRoom } from '../../server/registry/venues.ts';
import { offeredDates, wasOffered } from '../../server/watch/notify/care-dates.ts';
import { roomBody } from '../support/api.ts';
import { airUntilPulled, fitControl } from '../support/controlled-piano.ts';
import { technician } from '../support/people.ts';
import { openToldStage, type ToldStage } from '../support/told-stage.ts';
import { type AirCourse, dayMs, hourMs, type Piano, ramp, steady } from '../support/watch-stage.ts';

const winterMs = Date.parse('2026-01-12T09:00:00Z');
const summerMs = Date.parse('2026-07-06T09:00:00Z');
const writer: PersonBody = {
  ...technician,
  digestHour: 8,
  quietUntilHour: 7,
  atOnce: 'never',
  reminderDays: 0,
};

describe('care notes', () => {
  let stage: ToldStage;
  afterEach(() => stage.stop());

  /** @param insideCourse the air in the case, where humidity control is fitted to hold 45 % */
  async function home(atMs: number, air: AirCourse, insideCourse?: AirCourse): Promise<Piano> {
    stage = await openToldStage(atMs);
    const venue = await stage.venue('Brannoway household');
    const piano = await stage.piano(venue, 'Music room', air, { use: 'home' });
    const { db } = stage.stores;
    if (insideCourse) await fitControl(stage, piano, insideCourse);
    await stage.past(90);
    await putPerson(db, stage.viewer, randomUUID(), writer, stage.nowMs);
    const client = { ...writer, name: 'E. Brannoway', email: 'home@brannoway.example' };
    const role = { role: 'client' as const, instrumentIds: [piano.id] };
    await putPerson(db, stage.viewer, randomUUID(), { ...client, ...role }, stage.nowMs);
    return piano;
  }
  async function toBayWindow(piano: Piano, atMs: number): Promise<void> {
    const { stores, viewer } = stage;
    const room = { ...roomBody, id: randomUUID(), venueId: piano.venueId, name: 'Bay window' };
    await putRoom(stores.db, viewer, room);
    const move = { id: randomUUID(), instrumentId: piano.id, atMs, roomId: room.id, words: '' };
    await putMove(stores.db, viewer, move);
  }
  const notes = () => stage.mailsTo('brannoway');

  test('a damp summer: what airing and drying do, in small steps', async () => {
    await home(summerMs, ramp(50, 76, summerMs, summerMs + dayMs, 22));
    await stage.pass(12 * dayMs, 6 * hourMs);
    const [note] = notes();
    expect(note?.subject).toBe('The air around your piano is too damp');
    expect(note?.text).toMatch(/at most 5 points, down to about 50 %/);
    expect(note?.text).toMatch(/Unplug anything electrical/);
    expect(note?.text).not.toMatch(/strings pull/);
    expect(note?.text).not.toMatch(/undefined|\{\w+\}/);
    expect(notes().length).toBeLessThanOrEqual(3);
  });

  test('humidity control that stopped: the client looks first, with the plug pulled before water', async () => {
    const pulledMs = winterMs + 3 * dayMs;
    const { room, inside } = airUntilPulled(pulledMs);
    await home(winterMs, room, inside);
    await stage.pass(14 * dayMs, 6 * hourMs);
    const note = notes().find((mail) => mail.subject === 'The humidity control in your piano needs a look');
    expect(note?.text).toMatch(/unplug it first, fill it, plug it in again and check that it runs/);
    expect(note?.text).toMatch(/licensed electrician/);
  });

  test('what asks for something else is told too, a week after; a board at risk at once; the same and what was left alone not', async () => {
    // Nothing is heard of its air, so the notices stay as they are put.
    const piano = await home(winterMs, () => null);
    const { db } = stage.stores;
    const { organisationId: organisation_id } = stage.viewer;
    const put = async (
      rule: RuleName,
      to_client: string,
      left: Partial<Insertable<Records['notice']>> = {},
    ) => {
      const id = randomUUID();
      const words = { what: rule, why: '', to_do: '', to_client, minutes: 30, evidence: '{}' };
      await db
        .insertInto('notice')
        .values({
          ...{ id, organisation_id, rule, subject_id: piano.id, instrument_id: piano.id, sensor_id: null },
          ...{ venue_id: piano.venueId, place: 'Brannoway household · Music room · Upright', state: 'open' },
          ...{ severity: 1, began_ms: stage.nowMs, over_ms: null, not_before_ms: null, ...words, ...left },
        })
        .execute();
      return id;
    };
    const subjects = () => notes().map((mail) => mail.subject);
    const [dry, due] = ['The air around your piano is too dry', 'Your piano is ready for its tuning'];
    // One of all the pianos of the house.
    const part = { part_of: randomUUID() };
    const board = await put('board-dry', 'The air around your piano is too dry for its soundboard.', part);
    await put('mould', 'We would like to look at it.', { snoozed_until_ms: stage.nowMs + 60 * dayMs });
    await stage.pass(2 * dayMs, 6 * hourMs);
    await put('service-due', 'It is time for the tuning of your piano.');
    await stage.pass(2 * dayMs, 6 * hourMs);
    expect(subjects()).toEqual([dry]);
    await stage.pass(6 * dayMs, 6 * hourMs);
    expect(subjects()).toEqual([dry, due]);
    // Grown worse it may crack: that does not wait for the week, and was not told before.
    await db.updateTable('notice').set({ severity: 2 }).where('id', '=', board).execute();
    await stage.pass(6 * hourMs, hourMs);
    expect(subjects()).toEqual([dry, due, dry]);
    await put('pins-dry', 'The air around your piano has been very dry for weeks.');
    await stage.pass(16 * dayMs, 6 * hourMs);
    expect(subjects()).toEqual([dry, due, dry]);
  });

  test('a moved piano: once, in its own words; what is wrong with the air comes no sooner than a week after', async () => {
    const piano = await home(winterMs, steady(45));
    await toBayWindow(piano, stage.nowMs - hourMs);
    await stage.pass(30 * dayMs, 6 * hourMs);
    const moved = notes().filter((mail) => mail.subject === 'Your piano in its new place');
    expect(moved).toHaveLength(1);
    expect(moved[0]?.text).toContain('Bay window');
    expect(moved[0]?.text).toMatch(/leave moving it again to piano movers/);
    expect(moved[0]?.from?.value[0]?.name).toBe('Ilva Marrendow');
    const rows = await stage.stores.db
      .selectFrom('outgoing')
      .select('made_ms')
      .where('kind', '=', 'care note')
      .orderBy('made_ms')
      .execute();
    rows.forEach((row, i) => {
      const before = rows[i - 1];
      if (before) expect(row.made_ms - before.made_ms).toBeGreaterThanOrEqual(7 * dayMs);
    });
  });

  test('a move written down long after is no news', async () => {
    const piano = await home(winterMs, steady(45));
    await toBayWindow(piano, stage.nowMs - 30 * dayMs);
    await stage.pass(3 * dayMs, 6 * hourMs);
    expect(notes().filter((mail) => mail.subject === 'Your piano in its new place')).toEqual([]);
  });
});

describe('offered days', () => {
  const zone = 'Europe/Vienna';
  test('are three weekdays, some days off, never before it is wise, also across the change of clocks', () => {
    for (const nowMs of [
      winterMs,
      summerMs,
      Date.parse('2026-03-26T22:30:00Z'),
      Date.parse('2026-10-23T05:00:00Z'),
    ]) {
      const notBefore = nowMs + 9 * dayMs;
      for (const least of [null, notBefore]) {
        const dates = offeredDates(least, zone, nowMs);
        expect(dates).toHaveLength(3);
        for (const date of dates) {
          const said = new Intl.DateTimeFormat('en-GB', {
            timeZone: zone,
            weekday: 'short',
            hour: '2-digit',
          }).format(date);
          expect(said).toMatch(/^(Mon|Tue|Wed|Thu|Fri).*10/);
          expect(date).toBeGreaterThan(nowMs + 2 * dayMs);
        }
      }
    }
  });
  test('stay good while a letter lies unread, and no longer than they lie ahead', () => {
    const [first = 0] = offeredDates(null, zone, winterMs);
    expect(wasOffered(first, null, zone, winterMs)).toBe(true);
    expect(wasOffered(first, null, zone, first - dayMs)).toBe(true);
    expect(wasOffered(first, null, zone, first + 1)).toBe(false);
    expect(wasOffered(first + hourMs, null, zone, winterMs)).toBe(false);
    expect(wasOffered(Number.NaN, null, zone, winterMs)).toBe(false);
  });
});
