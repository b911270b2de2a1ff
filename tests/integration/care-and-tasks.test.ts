/** Pages that open by a link alone, on the real service with a real mail server: a client's care page, a venue's tasks. */
import { randomUUID } from 'node:crypto';
import { readFileSync } from 'node:fs';
import { request } from 'node:http';
import path from 'node:path';
import sharp from 'sharp';
import { describe, expect, test } from 'vitest';
import type { CareAnswer, RoomToday, VenueTask } from '../../server/contract/index.ts';
import { openStores } from '../../server/services.ts';
import { roomBody } from '../support/api.ts';
import { openMailBox } from '../support/mail-box.ts';
import { measureRoom } from '../support/measured-room.ts';
import { zoneAtNoon } from '../support/noon.ts';
import { calmly, technician } from '../support/people.ts';
import { eventually } from '../support/service.ts';
import { serviceStage, withGateway } from '../support/service-stage.ts';
import { standing } from '../support/standing.ts';

const dayMs = 86_400_000;
const urn = 'urn:dev:mac:0200000000da01';
const calmTechnician = { ...technician, ...calmly };

describe('links without an account', () => {
  const clientId = randomUUID();

  const stage = standing(async (undo) => {
    const box = await openMailBox();
    undo(box.stop);
    const env = {
      SMTP_URL: box.url,
      MAIL_FROM: 'watch@workshop.example',
      PUBLIC_URL: 'https://pianos.example',
    };
    const stage = await withGateway((prepare) => serviceStage(undo, prepare, env));
    const { client } = stage;
    const house = await client.house({ use: 'home' });
    // What is to do in a house is told by its day.
    const venue = { name: 'Larkmoor', timeZone: zoneAtNoon() };
    await client.put(`/api/venues/${house.venueId}`, venue);
    await client.put(`/api/rooms/${house.roomId}`, {
      ...roomBody,
      ...house,
      name: 'Music room',
      humidifier: true,
    });
    const days = 91;
    await measureRoom(stage, {
      ...{ urn, roomId: house.roomId, days, nowMs: Date.now() },
      // Ten weeks at 46 %, then three of heated frost at 24.
      airAt: (hour) => ({
        // Whole points either side of it, so that five more than it is 29 at any hour of the day.
        humidityPct: (hour < (days - 21) * 24 ? 46 : 24.5) + 0.3 * Math.sin(hour / 4),
        temperatureC: 20.5 + 0.3 * Math.sin(hour / 4),
      }),
    });
    await client.put(`/api/people/${randomUUID()}`, calmTechnician);
    await client.put(`/api/people/${clientId}`, {
      ...calmTechnician,
      name: 'E. Brannoway',
      email: 'home@brannoway.example',
      role: 'client',
      instrumentIds: [house.instrumentId],
    });
    const note = await eventually('the care note', async () =>
      box.mails.find((mail) => mail.text?.includes('/care/')),
    );
    const carePath = /https:\/\/pianos\.example(\/care\/\S+)/.exec(note.text ?? '')?.[1] ?? '';
    return { ...stage, box, house, carePath };
  });

  const page = async (address: string, init: RequestInit = {}) => {
    const response = await fetch(stage.service.url + address, init);
    return { status: response.status, headers: response.headers, text: await response.text() };
  };
  const post = (address: string, fields: Record<string, string>) =>
    page(address, { method: 'POST', body: new URLSearchParams(fields) });
  const toTechnician = () =>
    stage.box.mails.filter(
      (mail) => JSON.stringify(mail.to).includes(technician.email ?? '') && mail.text?.includes('Brannoway'),
    );

  describe('a client', () => {
    test('is written to in plain words, and reads the same on a page nobody else can open', async () => {
      const note = stage.box.mails.find((mail) => mail.text?.includes('/care/'));
      expect(note?.subject).toBe('The air around your piano is too dry');
      expect(note?.text).toMatch(/Unplug anything electrical .*plug it in again and check that it runs/);
      const { status, headers, text } = await page(stage.carePath);
      expect(status).toBe(200);
      expect(headers.get('x-robots-tag')).toContain('noindex');
      expect(headers.get('referrer-policy')).toBe('no-referrer');
      expect(headers.get('cache-control')).toContain('no-store');
      expect(text).toContain('Please take care');
      expect(text).not.toContain('<script');
      const forged = stage.carePath.slice(0, -1) + (stage.carePath.endsWith('A') ? 'B' : 'A');
      expect((await page(forged)).status).toBe(404);
      // Signed for a calendar it would be another link: purposes do not mix.
      expect((await page(stage.carePath.replace('/care/', '/unsubscribe/'))).status).toBe(404);
    });

    test('picks one of the offered days; the answer is in the technician’s mail, once', async () => {
      const { text } = await page(stage.carePath);
      const dates = [...text.matchAll(/name="date" value="(\d+)"/g)].map(([, date = '']) => date);
      expect(dates).toHaveLength(3);
      for (const date of dates) {
        const weekday = new Intl.DateTimeFormat('en', { weekday: 'short', timeZone: 'Europe/Vienna' });
        expect(['Sat', 'Sun']).not.toContain(weekday.format(Number(date)));
      }
      const before = toTechnician().length;
      const chosen = await post(stage.carePath, { answer: 'date', date: dates[1] ?? '' });
      expect(chosen.text).toContain('You answered on');
      await post(stage.carePath, { answer: 'date', date: dates[1] ?? '' });
      await post(stage.carePath, { answer: 'call me' });
      const mails = await eventually('both answers', async () => {
        const all = toTechnician().slice(before);
        return all.length >= 2 && all;
      });
      expect(mails).toHaveLength(2);
      expect(mails[0]?.subject).toMatch(/^E\. Brannoway chose \d+ \w+/);
      expect(mails[0]?.replyTo?.value[0]?.address).toBe('home@brannoway.example');
      expect(mails[1]?.subject).toBe('E. Brannoway asks to be called');
      const kept = await stage.client.get<CareAnswer[]>('/api/care-answers');
      expect(kept.map(({ answer, dateMs }) => [answer, dateMs])).toEqual([
        ['call me', null],
        ['date', Number(dates[1])],
      ]);
      expect(kept[0]?.client).toBe('E. Brannoway');
    });

    test('cannot pick what was not offered, nor send nonsense', async () => {
      for (const fields of [
        { answer: 'date', date: String(Date.now() + 5 * dayMs) },
        { answer: 'date', date: 'soon' },
        { answer: 'date', date: String(Date.now() - dayMs) },
        { answer: '<script>' },
        {},
      ]) {
        const { status, text } = await post(stage.carePath, fields);
        expect(status).toBe(422);
        expect(text).toMatch(/please choose/);
      }
    });

    test('is told of a move once, in its own words, and not within the week of another note', async () => {
      // Another client's piano, of which nothing else is to be told.
      const other = await stage.client.house({ use: 'home', name: 'Upright 120 cm' });
      const newRoom = randomUUID();
      await stage.client.put(`/api/rooms/${newRoom}`, {
        ...roomBody,
        venueId: other.venueId,
        name: 'Upper room',
      });
      await stage.client.put(`/api/people/${randomUUID()}`, {
        ...calmTechnician,
        name: 'T. Ellinbrae',
        email: 'home@ellinbrae.example',
        role: 'client',
        instrumentIds: [other.instrumentId],
      });
      await stage.client.put(`/api/moves/${randomUUID()}`, {
        instrumentId: other.instrumentId,
        atMs: Date.now() - 2 * dayMs,
        roomId: newRoom,
        words: 'Carried up.',
      });
      await stage.client.put(`/api/moves/${randomUUID()}`, {
        instrumentId: stage.house.instrumentId,
        atMs: Date.now() - 2 * dayMs,
        roomId: stage.house.roomId,
        words: 'Carried out and back.',
      });
      const moved = () => stage.box.mails.filter((mail) => mail.subject === 'Your piano in its new place');
      const [note] = await eventually('the note of the move', async () => moved().length > 0 && moved());
      expect(note?.text).toContain('Upper room');
      expect(note?.text).toMatch(/please do not have it tuned before/);
      expect(note?.text).toMatch(/heavy: prop, lift and move with a second person/);
      // Some more looks of the watch: once is enough, and the first client had a note this week.
      const log = await eventually('some looks', async () => {
        const { body } = await stage.client.ask('GET', '/api/messages');
        return (body as { messages: { kind: string; to: string }[] }).messages;
      });
      expect(
        log.filter((one) => one.kind === 'care note' && one.to === 'home@ellinbrae.example'),
      ).toHaveLength(1);
      expect(moved()).toHaveLength(1);
    });
  });

  describe('whoever fills the humidifiers', () => {
    let address = '';
    const rooms = () => stage.client.get<RoomToday[]>('/api/rooms-today');
    const mine = async () => {
      const found = (await rooms()).find((one) => one.id === stage.house.roomId);
      if (!found) throw new Error('the room is missing');
      return found;
    };
    const tick = (fields: { note?: string; photo?: Uint8Array; room?: string }) => {
      const form = new FormData();
      form.set('room', fields.room ?? stage.house.roomId);
      form.set('note', fields.note ?? '');
      form.set('photo', new Blob([Buffer.from(fields.photo ?? new Uint8Array())]), 'tank.jpg');
      return page(address, { method: 'POST', body: form });
    };

    test('has a link that is told once and kept as a hash', async () => {
      const { status, body } = await stage.client.ask('PUT', `/api/venues/${stage.house.venueId}/task-link`, {
        want: 'new',
      });
      expect(status).toBe(200);
      address = (body as { path: string }).path;
      expect(body).toMatchObject({ url: `https://pianos.example${address}` });
      const secret = address.split('/').at(-1) ?? '';
      expect(secret.length).toBeGreaterThanOrEqual(32);
      const files = ['records.db', 'records.db-wal'].map((file) =>
        readFileSync(path.join(stage.folder, file)),
      );
      expect(files.some((bytes) => bytes.includes(secret))).toBe(false);
      expect(JSON.stringify((await stage.client.ask('GET', '/api/task-links')).body)).not.toContain(secret);

      const { status: shown, headers, text } = await page(address);
      expect(shown).toBe(200);
      expect(headers.get('x-robots-tag')).toContain('noindex');
      expect(headers.get('referrer-policy')).toBe('no-referrer');
      expect(text).toContain('<h1>One thing to do today</h1>');
      expect(text).toContain('Raise the humidifier to 29');
      expect(text).toMatch(/Unplug anything electrical .*check that it runs/);
      expect(text).not.toContain('<script');
    });

    test('ticks with a word and a photo; the technician sees both, and the watch looks again', async () => {
      const stores = await openStores(stage.folder);
      const made = async () =>
        (
          await stores.db
            .selectFrom('outlook')
            .select('made_ms')
            .where('instrument_id', '=', stage.house.instrumentId)
            .executeTakeFirst()
        )?.made_ms ?? 0;
      const before = await made();
      const exif = { IFD0: { Copyright: 'somebody at home' } };
      const photo = await sharp({ create: { width: 900, height: 500, channels: 3, background: '#876' } })
        .withExif(exif)
        .jpeg()
        .toBuffer();
      expect(photo.includes('somebody at home')).toBe(true);
      const { status, text } = await tick({ note: 'Two cans <b>filled</b>.', photo });
      expect(status).toBe(200);
      expect(text).toContain('<h1>All is done for today</h1>');
      expect(await made()).toBeGreaterThan(before);
      await stores.stop();

      const [task] = await stage.client.get<VenueTask[]>('/api/venue-tasks');
      expect(task).toMatchObject({
        roomName: 'Music room',
        note: 'Two cans <b>filled</b>.',
        photo: true,
        seenMs: null,
      });
      expect(task?.task).toContain('Raise the humidifier');
      expect((await mine()).today.doneMs).toBe(task?.doneMs);
      const kept = await fetch(`${stage.service.url}/api/venue-tasks/${task?.id}/photo`);
      const bytes = Buffer.from(await kept.arrayBuffer());
      expect((await sharp(bytes).metadata()).width).toBe(900);
      expect(bytes.includes('somebody at home')).toBe(false);

      // Twice is once; a second word is added.
      await tick({ note: 'And the window was open.' });
      const again = await stage.client.get<VenueTask[]>('/api/venue-tasks');
      expect(again).toHaveLength(1);
      expect(again[0]?.note).toBe('Two cans <b>filled</b>.\nAnd the window was open.');
      expect(again[0]?.doneMs).toBe(task?.doneMs);
      const seen = await stage.client.ask('PUT', `/api/venue-tasks/${task?.id}/seen`, {});
      expect((seen.body as VenueTask).seenMs).toBeGreaterThan(0);
    });

    test('is told what cannot be taken, and nothing is ticked by it', async () => {
      const fill = randomUUID();
      await stage.client.put(`/api/rooms/${fill}`, {
        ...roomBody,
        venueId: stage.house.venueId,
        name: 'Attic',
        borrowsRoomId: stage.house.roomId,
      });
      const gif = Buffer.from('R0lGODlhAQABAAAAACwAAAAAAQABAAA=', 'base64');
      const wrong = await tick({ room: fill, photo: gif });
      expect(wrong.status).toBe(422);
      expect(wrong.text).toContain('this is a GIF file');
      const long = await tick({ room: fill, note: 'x'.repeat(501) });
      expect(long.status).toBe(422);
      expect((await tick({ room: randomUUID() })).text).toContain('nothing to do there any more');
      const notAForm = await page(address, { method: 'POST', body: 'room=1' });
      expect(notAForm.status).toBe(422);
      const huge = await tick({ room: fill, photo: new Uint8Array(12_100_000) });
      expect(huge.status).toBe(413);
      expect(await stage.client.get<VenueTask[]>('/api/venue-tasks')).toHaveLength(1);
    });

    test('comes in under the public name of a proxy, and reaches nothing else there', async () => {
      const as = (where: string) =>
        new Promise<number>((resolve, reject) => {
          request(stage.service.url + where, { headers: { host: 'pianos.example' } }, (res) => {
            res.resume();
            resolve(res.statusCode ?? 0);
          })
            .on('error', reject)
            .end();
        });
      expect(await as(address)).toBe(200);
      const made = await stage.client.ask('POST', `/api/people/${clientId}/calendar`);
      const { path, url } = made.body as { path: string; url: string };
      expect(url).toBe(`https://pianos.example${path}`);
      expect(await as(path)).toBe(200);
      expect(await as('/plain.css')).toBe(200);
      expect(await as('/faces/sans-400.woff2')).toBe(200);
      expect(await as('/faces/..%2Fpackage.json')).toBe(404);
      expect(await as('/api/rooms-today')).toBe(403);
      expect(await as('/api/venue-tasks')).toBe(403);
    });

    test('is out when the link is taken away, and so is who guesses', async () => {
      await stage.client.ask('PUT', `/api/venues/${stage.house.venueId}/task-link`, { want: 'new' });
      expect((await page(address)).status).toBe(404);
      const { body } = await stage.client.ask('PUT', `/api/venues/${stage.house.venueId}/task-link`, {
        want: 'none',
      });
      expect(body).toEqual({ path: null, url: null });
      // Twenty in ten minutes, which may begin anew while somebody guesses.
      const tries: number[] = [];
      while (tries.length < 41 && tries.at(-1) !== 429)
        tries.push((await page(`/tasks/guess-${tries.length}`)).status);
      expect(tries.slice(0, -1)).toEqual(tries.slice(1).map(() => 404));
      expect(tries.length).toBeGreaterThan(1);
      expect(tries.at(-1)).toBe(429);
      expect(
        (await stage.client.ask('PUT', `/api/venues/${randomUUID()}/task-link`, { want: 'new' })).status,
      ).toBe(404);
    });

    test('leaves no secret in the log; and meanwhile no note was sent twice', () => {
      expect(stage.box.mails.filter((mail) => mail.subject === 'Your piano in its new place')).toHaveLength(
        1,
      );
      const log = JSON.stringify(stage.service.log);
      for (const secret of [address, stage.carePath].map((one) => one.split('/').at(-1) ?? 'missing')) {
        expect(log).not.toContain(secret);
      }
    });
  });
});
