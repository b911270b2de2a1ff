/** Care notes by situation: each in its own words, with the cautions, the technician's name, and never two in a week for the same calm matter. */
import { randomUUID } from 'node:crypto';
import { afterEach, beforeEach, describe, expect, test } from 'vitest';
import type { PersonBody } from '../../server/contract/index.ts';
import { putHumidityControl } from '../../server/registry/humidity-controls.ts';
import { putMove } from '../../server/registry/moves.ts';
import { putPerson } from '../../server/registry/people.ts';
import { putRoom } from '../../server/registry/venues.ts';
import { offeredDates, wasOffered } from '../../server/watch/notify/care-dates.ts';
import { emailCourier } from '../../server/watch/notify/email.ts';
import { type Messenger, startMessenger } from '../../server/watch/notify/messenger.ts';
import { roomBody } from '../support/api.ts';
import { type MailBox, openMailBox } from '../support/mail-box.ts';
import {
  type AirCourse,
  dayMs,
  hourMs,
  openStage,
  type Piano,
  ramp,
  type Stage,
  steady,
} from '../support/watch-stage.ts';

const winterMs = Date.parse('2026-01-12T09:00:00Z');
const summerMs = Date.parse('2026-07-06T09:00:00Z');
const technician: PersonBody = {
  name: 'Ilva Marrendow',
  email: 'ilva@workshop.example',
  role: 'technician',
  language: 'en',
  timeZone: 'Europe/Vienna',
  digestHour: 8,
  quietFromHour: 21,
  quietUntilHour: 7,
  atOnce: 'never',
  reminderDays: 0,
  venueIds: [],
  instrumentIds: [],
};

describe('care notes', () => {
  let stage: Stage;
  let box: MailBox;
  let messenger: Messenger;
  beforeEach(async () => {
    box = await openMailBox();
  });
  afterEach(async () => {
    await messenger.stop();
    await stage.stop();
    await box.stop();
  });

  /** @param insideCourse the air in the case, where humidity control is fitted to hold 45 % */
  async function home(atMs: number, air: AirCourse, insideCourse?: AirCourse): Promise<Piano> {
    stage = await openStage(atMs, () => ({
      afterLook: async (viewer, nowMs) => {
        await messenger.afterLook(viewer, nowMs);
        await messenger.deliver();
      },
    }));
    messenger = await startMessenger({
      db: stage.stores.db,
      publicUrl: 'https://pianos.example',
      couriers: [emailCourier({ url: box.url, from: 'crownwatch@workshop.example' })],
      publisher: null,
      now: () => stage.nowMs,
      log: {
        error(fields, message) {
          throw new Error(message, { cause: fields });
        },
      },
    });
    const venue = await stage.venue('Brannoway household');
    const piano = await stage.piano(venue, 'Music room', air, { use: 'home' });
    const { db } = stage.stores;
    if (insideCourse) {
      const { roomId } = await stage.piano(venue, 'elsewhere', insideCourse);
      await db
        .updateTable('placement')
        .set({ spot: 'inside', room_id: null, instrument_id: piano.id })
        .where('room_id', '=', roomId)
        .execute();
      await putHumidityControl(db, stage.viewer, {
        id: randomUUID(),
        instrumentId: piano.id,
        kind: 'both',
        setPct: 45,
        sinceMs: atMs - 300 * dayMs,
        untilMs: null,
      });
    }
    await stage.past(90);
    await putPerson(db, stage.viewer, randomUUID(), technician, stage.nowMs);
    const client = { ...technician, name: 'E. Brannoway', email: 'home@brannoway.example' };
    const role = { role: 'client' as const, instrumentIds: [piano.id] };
    await putPerson(db, stage.viewer, randomUUID(), { ...client, ...role }, stage.nowMs);
    return piano;
  }
  const notes = () => box.mails.filter((mail) => JSON.stringify(mail.to).includes('brannoway'));

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
    const roomPct = (ms: number) => 31 + 2.5 * Math.sin(ms / (40 * hourMs));
    // As in the story of the rooms: a control lets a part of the room through; unplugged, the case follows in hours.
    const insidePct = (ms: number) => {
      const kept = ms < pulledMs ? 1 : Math.exp(-(ms - pulledMs) / (9 * hourMs));
      return kept * (45 + 0.3 * (roomPct(ms) - 45)) + (1 - kept) * (roomPct(ms) + 1);
    };
    const course = (of: (ms: number) => number) => (ms: number) => ({
      humidityPct: of(ms),
      temperatureC: 20.4 + 0.4 * Math.sin(ms / hourMs),
    });
    await home(winterMs, course(roomPct), course(insidePct));
    await stage.pass(14 * dayMs, 6 * hourMs);
    const note = notes().find((mail) => mail.subject === 'The humidity control in your piano needs a look');
    expect(note?.text).toMatch(/unplug it first, fill it, plug it in again and check that it runs/);
    expect(note?.text).toMatch(/licensed electrician/);
  });

  test('a moved piano: once, in its own words; what is wrong with the air comes no sooner than a week after', async () => {
    const piano = await home(winterMs, steady(45));
    const roomId = randomUUID();
    await putRoom(stage.stores.db, stage.viewer, {
      ...roomBody,
      id: roomId,
      venueId: piano.venueId,
      name: 'Bay window',
    });
    await putMove(stage.stores.db, stage.viewer, {
      id: randomUUID(),
      instrumentId: piano.id,
      atMs: stage.nowMs - hourMs,
      roomId,
      words: '',
    });
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
    const roomId = randomUUID();
    await putRoom(stage.stores.db, stage.viewer, {
      ...roomBody,
      id: roomId,
      venueId: piano.venueId,
      name: 'Bay window',
    });
    const atMs = stage.nowMs - 30 * dayMs;
    await putMove(stage.stores.db, stage.viewer, {
      id: randomUUID(),
      instrumentId: piano.id,
      atMs,
      roomId,
      words: '',
    });
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
