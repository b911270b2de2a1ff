/** What is told and what is not, by news and clock alone; and who is told nothing any more. */
import { randomUUID } from 'node:crypto';
import { describe, expect, test } from 'vitest';
import type { Notice, PersonBody } from '../../server/contract/index.ts';
import { firstOrganisation } from '../../server/registry/organisations.ts';
import { personById, putPerson } from '../../server/registry/people.ts';
import { openStores } from '../../server/services.ts';
import { briefly } from '../../server/watch/notify/briefly.ts';
import { endMessages } from '../../server/watch/notify/end-messages.ts';
import { putOutgoing } from '../../server/watch/notify/outgoing.ts';
import { type NewsItem, plan } from '../../server/watch/notify/plan.ts';
import { tell } from '../../server/watch/notify/tell.ts';
import { noticeWords } from '../../server/watch/notify/words.ts';
import { hasPassed } from '../../server/watch/wording.ts';
import { technician } from '../support/people.ts';
import { temporaryFolder } from '../support/service.ts';
import { dayMs, hourMs } from '../support/watch-stage.ts';

/** Seven in the morning in Vienna: the hour of the digest. */
const nowMs = Date.parse('2026-01-13T06:00:00Z');
const house: PersonBody = { ...technician, role: 'venue manager', venueIds: [randomUUID()] };

const notice = (changes: Partial<Notice>): Notice => ({
  id: randomUUID(),
  rule: 'action-wet',
  instrumentId: randomUUID(),
  sensorId: null,
  venueId: house.venueIds[0] ?? null,
  place: 'Fernmoor · Studio 4 · Grand 208 cm',
  severity: 1,
  state: 'open',
  beganMs: nowMs - dayMs,
  overMs: null,
  what: 'Three days of air at the piano average 66 %.',
  why: 'Centres turn sluggish and keys stick in such air.',
  toDo: 'Air the room when it is drier outside.',
  notBeforeMs: null,
  minutes: 30,
  evidence: {},
  toVenue: 'This room is damp. Air the room when it is drier outside.',
  toClient: '',
  acknowledged: null,
  snoozedUntilMs: null,
  frozenBecause: null,
  endedBecause: null,
  partOf: null,
  members: 0,
  ...changes,
});
const over = { state: 'over', overMs: nowMs - hourMs, endedBecause: 'it was aired' } as const;
let seq = 0;
const news = (kind: 'begins' | 'worse' | 'over', about: Notice): NewsItem => {
  seq += 1;
  return { seq, atMs: nowMs - 2 * hourMs, kind, severity: about.severity, notice: about };
};
const told = { digestMs: nowMs - dayMs, lastAtOnceMs: null, lastReminderMs: null };

describe('an end', () => {
  test('of what nobody was told of is no news', () => {
    const short = notice(over);
    const told1 = plan(technician, [news('begins', short), news('over', short)], [], told, nowMs);
    expect(told1).toEqual({ kind: 'set aside', because: 'nothing is new' });
    const fresh = notice({ rule: 'mould' });
    const all = [news('begins', short), news('begins', fresh), news('over', short)];
    expect(plan(technician, all, [fresh], told, nowMs)).toMatchObject({ begun: [fresh], passed: [] });
  });

  test('of what was told comes with the next message, also with one that cannot wait', () => {
    const known = notice(over);
    expect(plan(technician, [news('over', known)], [], told, nowMs).kind).toBe('wait');
    const dry = notice({ rule: 'board-dry', severity: 2 });
    const made = plan(
      technician,
      [news('over', known), news('begins', dry)],
      [dry],
      told,
      nowMs + 3 * hourMs,
    );
    expect(made).toMatchObject({ kind: 'at once', begun: [dry], passed: [known] });
  });
});

test('whoever looks after rooms reads their own words in every line, whoever tunes the numbers', () => {
  const dry = notice({
    rule: 'board-dry',
    severity: 2,
    what: 'The soundboard is at 81 % of its dry limit.',
    toVenue:
      'The air at this piano is too dry for it: raise the humidity of the room by at most 5 points a day.',
  });
  const read = (person: PersonBody) => {
    const made = plan(
      person,
      [news('begins', dry), news('over', notice(over))],
      [dry],
      told,
      nowMs + 3 * hourMs,
    );
    if (made.kind !== 'at once') throw new Error('it cannot wait');
    return noticeWords(made, person, { page: null, unsubscribe: null }, nowMs);
  };
  expect(read(technician).subject).toContain('The soundboard is at 81 % of its dry limit');
  const mail = read(house);
  expect(mail.subject).toBe(
    'Now: Fernmoor · Studio 4 · Grand 208 cm: The air at this piano is too dry for it',
  );
  expect(mail.text).toContain('This room is damp. That is over: it was aired.');
  expect(`${mail.subject} ${mail.text}`).not.toMatch(/limit|average/);
  const calm = { ...house, atOnce: 'never' } as const;
  const made = plan(
    calm,
    [news('over', notice({ ...over, endedBecause: hasPassed })), news('begins', dry)],
    [],
    told,
    nowMs,
  );
  if (made.kind !== 'digest') throw new Error('it is the hour of the digest');
  const { text } = noticeWords(made, house, { page: null, unsubscribe: null }, nowMs);
  expect(text).toContain('This room is damp. That is over.\n');
});

test('what could not wait and yet does says why: quiet hours, or one such message today already', () => {
  const dry = notice({ rule: 'board-dry', severity: 2, what: 'The soundboard is at 81 % of its dry limit.' });
  const all = [news('begins', dry)];
  const noon = nowMs + 6 * hourMs;
  const told1 = { ...told, digestMs: nowMs };
  const because = (at: number, lastAtOnceMs: number | null) =>
    plan(technician, all, [dry], { ...told1, lastAtOnceMs }, at).because;
  expect(because(noon, null)).toContain('cannot wait for the digest');
  expect(because(noon, nowMs + hourMs)).toBe(
    'one message at once was sent today already: “The soundboard is at 81 % of its dry limit” waits for the next',
  );
  expect(because(nowMs + 16 * hourMs, null)).toMatch(/^these are quiet hours: /);
  const calm = { ...technician, atOnce: 'never' } as const;
  expect(plan(calm, all, [dry], told1, noon)).toEqual({ kind: 'wait', because: 'its hour has not come' });
});

test('a clause ends where it says what to do, not after a saint', () => {
  const clause = (toVenue: string) => briefly(notice({ toVenue }), 'venue manager');
  expect(clause('For St. Brannoc’s fair the piano stays in tune in 8 of 10 cases. Keep the heating.')).toBe(
    'For St. Brannoc’s fair the piano stays in tune in 8 of 10 cases',
  );
  expect(clause('This piano has gone out of tune; its technician plans a tuning.')).toBe(
    'This piano has gone out of tune',
  );
  expect(clause('')).toBe('Three days of air at the piano average 66 %');
});

test('why nobody was told in the night stands in the log, once and not with each look; in the morning it is told', async () => {
  const folder = temporaryFolder();
  const stores = await openStores(folder.path);
  const { db } = stores;
  const tenMs = Date.parse('2026-01-12T21:00:00Z');
  const viewer = await firstOrganisation(db, tenMs);
  const organisation_id = viewer.organisationId;
  await putPerson(db, viewer, randomUUID(), technician, tenMs - 3 * hourMs);
  const id = randomUUID();
  const words = { place: 'Salon', what: 'It is dry.', why: '', to_do: '', minutes: 0, evidence: '{}' };
  await db
    .insertInto('notice')
    .values({
      ...{ id, organisation_id, rule: 'board-dry', severity: 2, state: 'open', ...words },
      ...{ subject_id: id, instrument_id: null, sensor_id: null, venue_id: null, not_before_ms: null },
      ...{ began_ms: tenMs, over_ms: null },
    })
    .execute();
  const begins = { notice_id: id, at_ms: tenMs, kind: 'begins', severity: 2, note: 'It is dry.' };
  await db
    .insertInto('notice_event')
    .values({ organisation_id, ...begins })
    .execute();
  for (const hours of [1, 2, 3, 4]) await tell({ db, publicUrl: null }, viewer, tenMs + hours * hourMs);
  const said = await db.selectFrom('delivery').select(['kind', 'sentence']).execute();
  const sentence = 'quiet because these are quiet hours: “It is dry” waits for their end';
  expect(said).toEqual([{ kind: 'quiet', sentence }]);
  await tell({ db, publicUrl: null }, viewer, tenMs + 9 * hourMs);
  const made = await db.selectFrom('outgoing').select(['kind', 'because']).execute();
  expect(made).toEqual([{ kind: 'at once', because: '“It is dry” cannot wait for the digest' }]);
  await stores.stop();
  folder.remove();
});

test('who wants no more messages gets none that waited, and on coming back hears of what happens from then on', async () => {
  const folder = temporaryFolder();
  const stores = await openStores(folder.path);
  const { db } = stores;
  const viewer = await firstOrganisation(db, nowMs);
  const id = randomUUID();
  const happens = () =>
    db
      .insertInto('notice_event')
      .values({
        organisation_id: viewer.organisationId,
        ...{ notice_id: randomUUID(), at_ms: nowMs, kind: 'begins', severity: 1, note: '' },
      })
      .returning('seq')
      .executeTakeFirstOrThrow();
  const person = await putPerson(db, viewer, id, technician, nowMs);
  const message = { organisationId: viewer.organisationId, channel: 'email', kind: 'digest' } as const;
  const waits = { ...message, personId: id, address: technician.email ?? '', because: 'a test', body: '{}' };
  await putOutgoing(db, waits, nowMs);
  await putOutgoing(db, { ...waits, personId: randomUUID() }, nowMs);
  await endMessages(db, person, nowMs);
  const left = await db.selectFrom('outgoing').select('person_id').execute();
  expect(left.map((one) => one.person_id)).not.toContain(id);
  expect(left).toHaveLength(1);
  const said = await db.selectFrom('delivery').select('sentence').where('kind', '=', 'quiet').execute();
  expect(said).toEqual([{ sentence: 'quiet because Ilva Marrendow wants no more messages' }]);

  const { seq: meanwhile } = await happens();
  expect(await personById(db, id)).toMatchObject({ unsubscribedMs: nowMs });
  expect(await putPerson(db, viewer, id, technician, nowMs + dayMs)).toMatchObject({ unsubscribedMs: null });
  expect(await personById(db, id)).toMatchObject({ toldSeq: meanwhile, digestMs: nowMs + dayMs });
  // Other hours alone leave what is still to be told as it is; so does no address, until there is one.
  await happens();
  await putPerson(db, viewer, id, { ...technician, digestHour: 9, email: null }, nowMs + 2 * dayMs);
  expect(await personById(db, id)).toMatchObject({ toldSeq: meanwhile, digestMs: nowMs + dayMs });
  const { seq: last } = await happens();
  await putPerson(db, viewer, id, technician, nowMs + 3 * dayMs);
  expect(await personById(db, id)).toMatchObject({ toldSeq: last });
  await stores.stop();
  folder.remove();
});
