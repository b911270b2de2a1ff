/** What people have of the real service: links without an account, the calendar, settings of the watch and the year. */
import { randomUUID } from 'node:crypto';
import ICAL from 'ical.js';
import { describe, expect, test } from 'vitest';
import type { Call, Person, SettingsPage } from '../../server/contract/index.ts';
import { tuning } from '../support/api.ts';
import { technician } from '../support/people.ts';
import { serviceStage } from '../support/service-stage.ts';
import { standing } from '../support/standing.ts';

const dayMs = 86_400_000;
describe('people, calls and their calendar', () => {
  const personId = randomUUID();
  const stage = standing(async (undo) => {
    const stage = await serviceStage(undo);
    const house = await stage.client.house({ use: 'concert' });
    await stage.client.put(`/api/people/${personId}`, technician);
    return { ...stage, house };
  });
  const me = async () => {
    const [one] = await stage.client.get<Person[]>('/api/people');
    if (!one) throw new Error('a person was put');
    return one;
  };

  const renewed = async () => {
    const { status, body } = await stage.client.ask('POST', `/api/people/${personId}/calendar`);
    expect(status).toBe(200);
    return (body as { path: string }).path;
  };

  test('a concert makes a tuning call; accepted, it stands in the calendar and moves in place', async () => {
    // A concert on the far side of a clock change, wherever the test is run in the year.
    const startMs = Date.now() + 20 * dayMs;
    await stage.client.put(`/api/events/${randomUUID()}`, {
      venueId: stage.house.venueId,
      name: 'Recital; with, a long name that will have to be folded at seventy-five octets – äöü',
      startMs,
      instrumentIds: [stage.house.instrumentId],
    });
    const [call] = await stage.client.get<Call[]>('/api/calls');
    expect(call).toMatchObject({ kind: 'tuning', instrumentId: stage.house.instrumentId, choice: null });
    // Not in the night, in which an hour comes twice once a year.
    const plannedMs = Math.floor((startMs - 2 * dayMs) / dayMs) * dayMs + 9 * 3_600_000;
    const accept = { choice: 'accepted', plannedMs, personId, reason: '' };
    await stage.client.put(`/api/calls/${call?.id}/choice`, accept);

    const calendarPath = await renewed();
    const read = async () => {
      const { body } = await stage.client.ask('GET', calendarPath);
      const text = String(body);
      // RFC 5545 3.1: lines end in CRLF and have at most 75 octets.
      for (const line of text.split('\r\n')) expect(Buffer.byteLength(line)).toBeLessThanOrEqual(75);
      expect(text.replaceAll('\r\n', '')).not.toMatch(/[\r\n]/);
      return new ICAL.Component(ICAL.parse(text));
    };
    const before = (await read()).getAllSubcomponents('vevent').map((one) => new ICAL.Event(one));
    const visit = before.find((one) => one.uid.startsWith('call-'));
    expect(visit?.startDate.toJSDate().getTime()).toBe(Math.floor(plannedMs / 1000) * 1000);
    expect(visit?.startDate.zone.tzid).toBe('Europe/Vienna');
    const calendar = await read();
    for (const one of calendar.getAllSubcomponents('vevent')) {
      expect(String(one.getFirstProperty('dtstamp')?.toICALString())).toMatch(/:\d{8}T\d{6}Z$/);
      expect(one.getFirstPropertyValue('uid')).toBeTruthy();
    }
    expect(calendar.getFirstSubcomponent('vtimezone')?.getFirstPropertyValue('tzid')).toBe('Europe/Vienna');

    await stage.client.put(`/api/calls/${call?.id}/choice`, { ...accept, plannedMs: plannedMs + dayMs });
    const after = (await read()).getAllSubcomponents('vevent').map((one) => new ICAL.Event(one));
    expect(after.map((one) => one.uid).toSorted()).toEqual(before.map((one) => one.uid).toSorted());
    expect(
      after
        .find((one) => one.uid === visit?.uid)
        ?.startDate.toJSDate()
        .getTime(),
    ).toBe(Math.floor((plannedMs + dayMs) / 1000) * 1000);
  });

  test('declining asks for a reason; no such call is a 404', async () => {
    const [call] = await stage.client.get<Call[]>('/api/calls');
    const decline = { choice: 'declined', plannedMs: null, personId: null, reason: '' };
    const refused = await stage.client.ask('PUT', `/api/calls/${call?.id}/choice`, decline);
    expect(refused.status).toBe(400);
    expect(JSON.stringify(refused.body)).toContain('reason: must say why a call is declined');
    const unknown = await stage.client.ask('PUT', `/api/calls/${randomUUID()}/choice`, {
      ...decline,
      reason: 'no time',
    });
    expect(unknown.status).toBe(404);
  });

  test('one POST ends the messages, nothing asked; another’s link, or a link for something else, opens nothing', async () => {
    const before = await renewed();
    const calendarPath = await renewed();
    // A new address voids the one before, and only it.
    expect((await stage.client.ask('GET', before)).status).toBe(404);
    expect((await stage.client.ask('GET', calendarPath)).status).toBe(200);
    expect(JSON.stringify(await stage.client.get('/api/people'))).not.toContain(calendarPath.slice(-40, -4));
    const [, token = ''] = /^\/calendar\/(.+)\.ics$/.exec(calendarPath) ?? [];
    // The calendar's token is no unsubscribe token: each link has one purpose.
    expect((await stage.client.ask('POST', `/unsubscribe/${token}`)).status).toBe(404);
    const forged = calendarPath.replace(/.\.ics$/, (end) => (end.startsWith('x') ? 'y.ics' : 'x.ics'));
    expect((await stage.client.ask('GET', forged)).status).toBe(404);
    expect((await me()).unsubscribedMs).toBeNull();
  });

  test('settings: inherited and said whence; a contradiction is refused whole', async () => {
    const { id } = await stage.client.get<{ id: string }>('/api/organisation');
    await stage.client.put(`/api/settings/venue/${stage.house.venueId}`, { values: { 'board begins': 0.6 } });
    const page = await stage.client.get<SettingsPage>(`/api/settings/instrument/${stage.house.instrumentId}`);
    expect(page.settings.find((one) => one.name === 'board begins')).toMatchObject({
      value: 0.6,
      from: 'from the venue',
    });
    const refused = await stage.client.ask('PUT', `/api/settings/organisation/${id}`, {
      values: { 'board ends': 0.7, 'damp begins': 70 },
    });
    expect(refused.status).toBe(409);
    expect(JSON.stringify(refused.body)).toContain('board ends: must be below 0.6 (board begins)');
    expect(JSON.stringify(refused.body)).toContain('a venue below has values of its own');
    const whole = await stage.client.get<SettingsPage>(`/api/settings/organisation/${id}`);
    expect(whole.settings.find((one) => one.name === 'damp begins')).toMatchObject({
      value: 60,
      from: 'usual',
    });
    const wild = await stage.client.ask('PUT', `/api/settings/organisation/${id}`, {
      values: { 'swing day': 900 },
    });
    expect(wild.status).toBe(400);
    expect(JSON.stringify(wild.body)).toContain('must be 3 to 50 %RH');
  });

  test('a malformed template is refused with a sentence', async () => {
    const refused = await stage.client.ask('PUT', '/api/care-words/tuning', {
      subject: 'Hello',
      words: 'Dear {clinet}, {what}',
    });
    expect(refused.status).toBe(400);
    expect(JSON.stringify(refused.body)).toContain('words: has {clinet}; known are');
  });

  test('a visit closes the call it did', async () => {
    const before = await stage.client.get<Call[]>('/api/calls');
    expect(before.some((one) => one.kind === 'tuning')).toBe(true);
    const events = await stage.client.get<{ id: string }[]>('/api/events');
    // The concert comes closer: within three days a tuning is the one it asked for.
    await stage.client.put(`/api/events/${events[0]?.id}`, {
      venueId: stage.house.venueId,
      name: 'Recital',
      startMs: Date.now() + 3 * dayMs,
      instrumentIds: [stage.house.instrumentId],
    });
    await stage.client.put(
      `/api/visits/${randomUUID()}`,
      tuning(stage.house.instrumentId, Date.now() - 1000),
    );
    const after = await stage.client.get<Call[]>('/api/calls');
    expect(after.filter((one) => one.kind === 'tuning')).toEqual([]);
    const { done } = await stage.client.get<{ done: { kind: string }[] }>('/api/rounds');
    expect(done.map((one) => one.kind)).toContain('tuning');
  });

  test('the year plan asks for the hours of the interval, by month and venue', async () => {
    const plan = await stage.client.get<{ months: { hours: number }[]; sentences: string[] }>(
      '/api/year-plan?hours=10',
    );
    expect(plan.months).toHaveLength(12);
    expect(plan.sentences[0]).toMatch(/The coming year asks for \d+/);
  });
});
