/** What the technician's pages ask of the real service: several calls decided at once, messages tried again, words, webhooks. */
import { randomUUID } from 'node:crypto';
import { describe, expect, test } from 'vitest';
import type {
  Call,
  CareWordsPage,
  DeliveryLog,
  Person,
  RoundsPage,
  YearPlan,
} from '../../server/contract/index.ts';
import { firstOrganisation } from '../../server/registry/organisations.ts';
import { openStores } from '../../server/services.ts';
import { putOutgoing } from '../../server/watch/notify/outgoing.ts';
import { technician } from '../support/people.ts';
import { eventually } from '../support/service.ts';
import { serviceStage } from '../support/service-stage.ts';
import { standing } from '../support/standing.ts';

const dayMs = 86_400_000;
const personId = randomUUID();
describe('the desk', () => {
  /** A message that was tried for days, and one that went out: as a service without a way out leaves them. */
  async function messagesOfOld(folder: string): Promise<{ stuckId: string; sentId: string }> {
    const stores = await openStores(folder);
    const viewer = await firstOrganisation(stores.db, Date.now());
    const put = (because: string) =>
      putOutgoing(
        stores.db,
        {
          organisationId: viewer.organisationId,
          channel: 'email',
          kind: 'digest',
          address: 'ilva@old-address.example',
          because,
          body: JSON.stringify({
            ...{ subject: `About: ${because}`, text: '', html: '', fromName: null, replyTo: null },
            unsubscribe: null,
          }),
          personId,
        },
        Date.now() - 5 * dayMs,
      );
    const stuckId = await put('something began');
    const sentId = await put('something passed');
    const set = (id: string, state: string, error: string | null) =>
      stores.db
        .updateTable('outgoing')
        .set({ state, last_error: error, attempts: 9 })
        .where('id', '=', id)
        .execute();
    await set(stuckId, 'stuck', 'the mail server does not answer');
    await set(sentId, 'sent', null);
    await stores.stop();
    return { stuckId, sentId };
  }

  const stage = standing(async (undo) => {
    let old = { stuckId: '', sentId: '' };
    const stage = await serviceStage(undo, async (folder) => {
      old = await messagesOfOld(folder);
    });
    const { client } = stage;
    await client.put(`/api/people/${personId}`, technician);
    for (const name of ['Grand 185 cm', 'Grand 211 cm']) {
      const house = await client.house({ name, use: 'concert' });
      await client.put(`/api/events/${randomUUID()}`, {
        ...{ venueId: house.venueId, name: 'Recital', startMs: Date.now() + 12 * dayMs },
        instrumentIds: [house.instrumentId],
      });
    }
    return { ...stage, ...old };
  });

  test('several calls are accepted at once, or none of them; taken back, they are open again', async () => {
    const before = await stage.client.get<RoundsPage>('/api/rounds');
    const calls = before.rounds.flatMap((round) => round.calls);
    expect(calls).toHaveLength(2);
    expect(before.instruments).toBe(2);
    const plannedMs = Date.now() + 9 * dayMs;
    const choice = { choice: 'accepted', plannedMs, personId, reason: '' };
    const all = calls.map(({ id }) => ({ id, choice }));

    const refused = await stage.client.ask('PUT', '/api/calls/choices', {
      choices: [...all, { id: randomUUID(), choice }],
    });
    expect(refused.status).toBe(404);
    const unknown = await stage.client.ask('PUT', '/api/calls/choices', {
      choices: [all[0], { ...all[1], choice: { ...choice, personId: randomUUID() } }],
    });
    expect(unknown.status).toBe(404);
    const untouched = await stage.client.get<RoundsPage>('/api/rounds');
    expect(untouched.rounds.flatMap((round) => round.calls).map((one) => one.choice)).toEqual([null, null]);

    const accepted = await stage.client.ask('PUT', '/api/calls/choices', { choices: all });
    const { rounds } = accepted.body as RoundsPage;
    expect(rounds.map((one) => [one.planned, one.personId, one.dateMs])).toEqual([
      [true, personId, plannedMs],
      [true, personId, plannedMs],
    ]);
    const back = await stage.client.ask('PUT', '/api/calls/choices', {
      choices: calls.map(({ id }) => ({ id, choice: null })),
    });
    expect((back.body as RoundsPage).rounds.every((one) => !one.planned)).toBe(true);
  });

  test('a stuck message is tried again, to the address its person has now; one that was sent is not', async () => {
    const read = () => stage.client.get<DeliveryLog>('/api/messages');
    const stuck = (await read()).messages.find(({ id }) => id === stage.stuckId);
    expect(stuck).toMatchObject({ state: 'stuck', lastError: 'the mail server does not answer' });
    const again = await stage.client.ask('POST', `/api/messages/${stage.stuckId}/again`);
    expect(again.body).toMatchObject({ state: 'waiting', to: technician.email });
    // The newest line may already be the one of having been taken up.
    expect((await read()).log).toContainEqual(
      expect.objectContaining({ kind: 'again', to: technician.name }),
    );
    // There is no mail server here: it waits, and the log says for what.
    await eventually('it was taken up', async () =>
      (await read()).messages.some(
        ({ id, lastError }) => id === stage.stuckId && lastError?.includes('no way out'),
      ),
    );
    const sent = await stage.client.ask('POST', `/api/messages/${stage.sentId}/again`);
    expect(sent.status).toBe(409);
    expect(JSON.stringify(sent.body)).toContain('this message was sent');
    expect((await stage.client.ask('POST', `/api/messages/${randomUUID()}/again`)).status).toBe(404);
  });

  test('care words: the usual ones until somebody has others, and back', async () => {
    const read = async () =>
      (await stage.client.get<CareWordsPage>('/api/care-words')).find((one) => one.situation === 'tuning');
    const usual = await read();
    expect(usual).toMatchObject({ own: false, words: usual?.usual });
    const words = { subject: 'Your {instrument}', words: 'Dear {client}, {what}' };
    await stage.client.put('/api/care-words/tuning', words);
    expect(await read()).toMatchObject({ own: true, words, usual: usual?.usual });
    await stage.client.put('/api/care-words/tuning', usual?.usual);
    expect(await read()).toEqual(usual);
  });

  test('an event that does not take place is taken away: its tuning is asked for no more, and it leaves the calendar', async () => {
    const events = () =>
      stage.client.get<{ id: string; venueId: string; instrumentIds: string[] }[]>('/api/events');
    const id = randomUUID();
    const [recital] = await events();
    const { venueId, instrumentIds } = recital ?? { venueId: '', instrumentIds: [] };
    const body = { venueId, instrumentIds, name: 'Examination', startMs: Date.now() + 9 * dayMs };
    await stage.client.put(`/api/events/${id}`, body);
    const calls = async () =>
      (await stage.client.get<Call[]>('/api/calls')).filter(({ why }) => why.includes('Examination'));
    expect(await calls()).toHaveLength(1);
    const taken = await stage.client.ask('POST', `/api/events/${id}/removal`);
    expect(taken.status).toBe(200);
    expect(JSON.stringify(taken.body)).not.toContain('Examination');
    expect((await events()).map((one) => one.id)).not.toContain(id);
    expect(await calls()).toEqual([]);
    expect((await stage.client.ask('POST', `/api/events/${id}/removal`)).status).toBe(404);
  });

  test('a webhook is put and taken away; its secret is told by nothing', async () => {
    const [id, secret] = [randomUUID(), 'a secret of thirty-two characters'];
    const put = await stage.client.ask('PUT', `/api/webhooks/${id}`, {
      url: 'https://hooks.example/in',
      secret,
    });
    expect(put.body).toEqual({ id, url: 'https://hooks.example/in' });
    expect(JSON.stringify(await stage.client.get('/api/webhooks'))).not.toContain(secret);
    expect((await stage.client.ask('POST', `/api/webhooks/${id}/removal`)).body).toEqual([]);
    expect((await stage.client.ask('POST', `/api/webhooks/${id}/removal`)).status).toBe(404);
  });

  test('a calendar has no address until one is made, and the list of people never tells it', async () => {
    const [before] = await stage.client.get<Person[]>('/api/people');
    expect(before?.calendarMadeMs).toBeNull();
    const { body } = await stage.client.ask('POST', `/api/people/${personId}/calendar`);
    const { path } = body as { path: string };
    expect((await stage.client.ask('GET', path)).status).toBe(200);
    const people = await stage.client.get<Person[]>('/api/people');
    expect(people[0]?.calendarMadeMs).toBeGreaterThan(0);
    expect(JSON.stringify(people)).not.toContain(path.split('.')[1]);
    // Changing the person leaves the calendar as it is.
    await stage.client.put(`/api/people/${personId}`, { ...technician, digestHour: 8 });
    expect((await stage.client.ask('GET', path)).status).toBe(200);
  });

  test('humidity control of an instrument: entered, corrected under the same id, listed newest first', async () => {
    const { instrumentId } = await stage.client.house({ name: 'Upright 125 cm', kind: 'upright' });
    const path = `/api/instruments/${instrumentId}/humidity-controls`;
    expect(await stage.client.get(path)).toEqual([]);
    const [older, newer] = [randomUUID(), randomUUID()];
    const sinceMs = Date.now() - 300 * dayMs;
    const body = { instrumentId, kind: 'humidify', setPct: 42, sinceMs, untilMs: null };
    await stage.client.put(`/api/humidity-controls/${older}`, body);
    await stage.client.put(`/api/humidity-controls/${older}`, { ...body, untilMs: sinceMs + 100 * dayMs });
    await stage.client.put(`/api/humidity-controls/${newer}`, {
      ...body,
      kind: 'both',
      sinceMs: sinceMs + 100 * dayMs,
    });
    const listed = await stage.client.get<{ id: string; untilMs: number | null }[]>(path);
    expect(listed.map(({ id, untilMs }) => [id, untilMs])).toEqual([
      [newer, null],
      [older, sinceMs + 100 * dayMs],
    ]);
    const refused = await stage.client.ask('PUT', `/api/humidity-controls/${newer}`, {
      ...body,
      untilMs: sinceMs,
    });
    expect(JSON.stringify(refused.body)).toContain('untilMs: must be later than sinceMs');
  });

  test('the year plan names what it rests on', async () => {
    const plan = await stage.client.get<YearPlan>('/api/year-plan?hours=20');
    expect(plan.pending).toBe(0);
    // Nothing was ever tuned or measured here: no best dates can be foretold.
    expect(plan.instruments.every(({ by }) => by === 'interval')).toBe(true);
    const tunings = plan.months.flatMap(({ venues }) => venues).reduce((sum, one) => sum + one.tunings, 0);
    // Four a year each for concert use, four for a studio's, and one for each recital on top.
    expect(tunings).toBe(14);
  });
});
