/** What people get to read: the real watch, the real store, a real mail server, and a clock the story moves. */
import { randomUUID } from 'node:crypto';
import { afterEach, describe, expect, test } from 'vitest';
import type { PersonBody } from '../../server/contract/index.ts';
import { putPerson } from '../../server/registry/people.ts';
import { putWeather } from '../../server/watch/evaluate-venues.ts';
import { acknowledge } from '../../server/watch/notice-acts.ts';
import { technician } from '../support/people.ts';
import { openToldStage, type ToldStage } from '../support/told-stage.ts';
import { dayMs, hourMs, minuteMs, ramp, steady } from '../support/watch-stage.ts';

const startMs = Date.parse('2026-01-12T09:00:00Z');
let stage: ToldStage;
afterEach(() => stage.stop());

async function open(atMs = startMs): Promise<void> {
  stage = await openToldStage(atMs);
}

/** Somebody who hears at eight, and not between nine in the evening and seven. */
const add = (changes: Partial<PersonBody> = {}) => {
  const person = { ...technician, digestHour: 8, quietUntilHour: 7, ...changes };
  return putPerson(stage.stores.db, stage.viewer, randomUUID(), person, stage.nowMs);
};

describe('the first hard frost', () => {
  test('in a conservatory of 20 rooms: at most one message a person and day, and it names the venue once', async () => {
    await open();
    const venue = await stage.venue('Fernmoor Conservatory');
    for (let i = 0; i < 20; i++) {
      const from = startMs + 6 * hourMs + i * 0.7 * hourMs;
      await stage.piano(venue, `Practice room ${i + 1}`, ramp(44, 24, from, from + 20 * hourMs));
    }
    await stage.past(60);
    await add();
    await add({ role: 'venue manager', email: 'house@fernmoor.example', venueIds: [venue], name: 'House' });
    await stage.pass(3 * dayMs);
    const made = await stage.stores.db.selectFrom('outgoing').select(['made_ms', 'address']).execute();
    const perDay = new Map<string, number>();
    for (const { made_ms, address } of made) {
      const key = `${address} ${new Date(made_ms + hourMs).toISOString().slice(0, 10)}`;
      perDay.set(key, (perDay.get(key) ?? 0) + 1);
    }
    expect(Math.max(...perDay.values())).toBe(1);
    const mails = stage.mailsTo('ilva@workshop.example');
    expect(mails.some((mail) => /\d+ of 20 pianos/.test(mail.text ?? ''))).toBe(true);
    for (const mail of mails) expect(mail.text?.match(/Practice room/g)?.length ?? 0).toBeLessThanOrEqual(6);
    const [house] = stage.mailsTo('house@fernmoor.example');
    expect(house?.text).not.toMatch(/moisture content|%MC|cents/);
    // The only links are those that open from where it is read.
    const links = [...mails, house].flatMap((mail) => mail?.text?.match(/https:\S+/g) ?? []);
    expect(links.length).toBeGreaterThan(0);
    for (const link of links) expect(link).toMatch(/^https:\/\/pianos\.example\/unsubscribe\//);
  });

  test('is foretold to the house before it comes, those first that bear least', async () => {
    await open();
    const venue = await stage.venue('Fernmoor Conservatory');
    for (let i = 0; i < 3; i++) await stage.piano(venue, `Room ${i + 1}`, steady(42 - 3 * i));
    await stage.past(40);
    await add({ role: 'venue manager', email: 'house@fernmoor.example', venueIds: [venue] });
    const day = (n: number) => new Date(startMs + n * dayMs).toISOString().slice(0, 10);
    await putWeather(
      stage.stores.db,
      stage.viewer,
      venue,
      [
        { day: day(0), lowC: 3, highC: 8, dewPointC: 4 },
        { day: day(1), lowC: 1, highC: 5, dewPointC: 2 },
        { day: day(2), lowC: -9, highC: -3, dewPointC: -12 },
        { day: day(3), lowC: -11, highC: -4, dewPointC: -14 },
      ],
      stage.nowMs,
    );
    await stage.pass(dayMs);
    const [mail] = stage.mailsTo('house@fernmoor.example');
    expect(mail?.text).toMatch(/Frost is coming on 14 January/);
    expect(mail?.text).toMatch(/no further than the windows stay dry/);
    const [notice] = await stage.openNotices();
    expect(notice?.why).toMatch(/Room 3.*Room 2.*Room 1/);
  });
});

describe('hours', () => {
  test('quiet ones delay, never drop; at their end there is one summary', async () => {
    await open(Date.parse('2026-01-12T19:00:00Z'));
    const venue = await stage.venue();
    // A board that nears its limit within the night, slowly enough to be no matter of hours.
    await stage.piano(venue, 'Salon', ramp(46, 16, stage.nowMs - 6 * dayMs, stage.nowMs - 5 * dayMs));
    await add();
    await stage.past(80);
    await stage.pass(4 * dayMs, hourMs);
    const made = await stage.stores.db.selectFrom('outgoing').selectAll().execute();
    expect(made.length).toBeGreaterThan(0);
    for (const { made_ms, because } of made) {
      const hour = Number(
        new Intl.DateTimeFormat('en-GB', {
          hour: '2-digit',
          hour12: false,
          timeZone: 'Europe/Vienna',
        }).format(made_ms),
      );
      // Only what may cost the board within the day may ring in the night.
      if (!because.includes('quiet hours')) expect(hour >= 7 && hour < 21).toBe(true);
    }
  });

  test('the digest keeps its local hour across the night the clocks change', async () => {
    // 29 March 2026, 02:00 to 03:00 in Vienna.
    await open(Date.parse('2026-03-27T12:00:00Z'));
    const venue = await stage.venue();
    for (let i = 0; i < 4; i++) {
      const from = stage.nowMs + i * dayMs;
      await stage.piano(venue, `Room ${i}`, ramp(45, 31 + i, from, from + 8 * hourMs));
    }
    await stage.past(40);
    await add({ atOnce: 'never' });
    await stage.pass(5 * dayMs, 30 * minuteMs);
    const made = await stage.stores.db.selectFrom('outgoing').select('made_ms').execute();
    const hours = made.map(({ made_ms }) =>
      new Intl.DateTimeFormat('en-GB', { hour: '2-digit', hour12: false, timeZone: 'Europe/Vienna' }).format(
        made_ms,
      ),
    );
    expect(made.length).toBeGreaterThanOrEqual(2);
    expect(new Set(hours)).toEqual(new Set(['08']));
    const log = await stage.stores.db.selectFrom('delivery').select('kind').execute();
    // Five digest hours: each was either sent or set aside, none twice.
    const used = log.filter(({ kind }) => kind === 'made' || kind === 'quiet').length;
    expect(used).toBeLessThanOrEqual(5);
  });
});

describe('a mail server that is away for an hour', () => {
  test('loses nothing, gets nothing twice, and the log says what waited', async () => {
    await open();
    const venue = await stage.venue();
    await stage.piano(venue, 'Salon', ramp(46, 22, startMs, startMs + 12 * hourMs));
    await stage.past(40);
    await add();
    stage.box.mood = 'away';
    await stage.pass(26 * hourMs, 30 * minuteMs);
    expect(stage.box.mails).toHaveLength(0);
    const waiting = await stage.stores.db
      .selectFrom('outgoing')
      .selectAll()
      .where('state', '=', 'waiting')
      .execute();
    expect(waiting).toHaveLength(1);
    expect(waiting[0]?.last_error).toContain('come again later');
    stage.box.mood = 'takes';
    await stage.pass(8 * hourMs, 30 * minuteMs);
    expect(stage.box.mails).toHaveLength(1);
    expect(stage.box.mails[0]?.messageId).toBe(`<${waiting[0]?.id}@workshop.example>`);
    const log = await stage.stores.db
      .selectFrom('delivery')
      .select('sentence')
      .where('kind', '=', 'sent')
      .execute();
    expect(log).toHaveLength(1);
    expect(log[0]?.sentence).toMatch(/^sent because/);
  });

  test('an address that bounces is refused once and shown, not tried for days', async () => {
    await open();
    const venue = await stage.venue();
    await stage.piano(venue, 'Salon', ramp(46, 22, startMs, startMs + 12 * hourMs));
    await stage.past(40);
    await add();
    stage.box.mood = 'bounces';
    await stage.pass(30 * hourMs, hourMs);
    const rows = await stage.stores.db.selectFrom('outgoing').selectAll().execute();
    expect(rows).toMatchObject([{ state: 'refused', attempts: 1 }]);
    expect(rows[0]?.last_error).toContain('no such user');
  });
});

describe('an acknowledgement', () => {
  test('belongs to its episode; what stays unsolved is told again after the interval, also where each week brings news', async () => {
    await open();
    const venue = await stage.venue();
    await stage.piano(venue, 'Salon', ramp(46, 20, startMs, startMs + 12 * hourMs));
    for (const day of [4, 9, 14]) {
      const dampMs = startMs + day * dayMs;
      await stage.piano(await stage.venue(`House ${day}`), 'Hall', ramp(50, 67, dampMs, dampMs + hourMs));
    }
    await stage.past(80);
    await add();
    await stage.pass(6 * dayMs, 3 * hourMs);
    const open1 = (await stage.openNotices()).find((one) => one.rule === 'board-dry');
    if (!open1) throw new Error('the board is dry');
    await acknowledge(
      stage.stores.db,
      stage.viewer,
      open1.id,
      { by: 'Ilva', note: 'humidifier ordered' },
      stage.nowMs,
    );
    const before = stage.box.mails.length;
    await stage.pass(16 * dayMs, 6 * hourMs);
    const later = stage.box.mails.slice(before);
    const again = later.filter((mail) => mail.text?.includes('humidifier ordered'));
    expect(again.length).toBeGreaterThanOrEqual(1);
    expect(again.length).toBeLessThanOrEqual(3);
    expect(again[0]?.text).toContain('ACKNOWLEDGED, NOT SOLVED');
    expect(later.length).toBeGreaterThan(again.length);
  });
});

describe('a client at home', () => {
  test('gets at most one care note a week, in the technician’s name, with the cautions and a page to answer on', async () => {
    await open();
    const venue = await stage.venue('Brannoway household');
    const piano = await stage.piano(venue, 'Music room', ramp(46, 24, startMs, startMs + 12 * hourMs), {
      use: 'home',
    });
    await stage.past(80);
    await add();
    await add({
      name: 'E. Brannoway',
      email: 'home@brannoway.example',
      role: 'client',
      instrumentIds: [piano.id],
    });
    await stage.pass(20 * dayMs, 3 * hourMs);
    const notes = stage.mailsTo('home@brannoway.example');
    expect(notes.length).toBeGreaterThanOrEqual(1);
    const urgent = notes.length > 3;
    expect(urgent).toBe(false);
    const [note] = notes;
    expect(note?.from?.value[0]?.name).toBe('Ilva Marrendow');
    expect(note?.replyTo?.value[0]?.address).toBe('ilva@workshop.example');
    expect(note?.text).toMatch(/Unplug/);
    expect(note?.text).toMatch(/plug it in again and check that it runs/);
    expect(note?.text).toMatch(/https:\/\/pianos\.example\/care\//);
    expect(note?.headers.get('list')).toBeDefined();
    expect(stage.box.raw.join('')).toMatch(/List-Unsubscribe-Post: List-Unsubscribe=One-Click/);
    expect(note?.text).not.toMatch(/undefined|\{\w+\}/);
  });
});
