/** Reads the news of each person and webhook, plans, and puts what is to be said on its way, all in one transaction each. */

import type { Notice, PersonBody } from '../../contract/index.ts';
import { among } from '../../db/among.ts';
import type { Database } from '../../db/database.ts';
import { type PersonRow, people } from '../../registry/people.ts';
import { seenBy, type Viewer } from '../../registry/viewer.ts';
import { noticeFromRow } from '../notice-rows.ts';
import { careNotes } from './care.ts';
import { signLink } from './links.ts';
import { type EmailBody, logDelivery, putOutgoing } from './outgoing.ts';
import { type NewsItem, nextDigestMs, plan, type Told } from './plan.ts';
import { noticeWords } from './words.ts';

export interface TellDeps {
  readonly db: Database;
  /** Where links lead, without a slash at the end; null while the service has no public address. */
  readonly publicUrl: string | null;
}

export async function tell(deps: TellDeps, viewer: Viewer, nowMs: number): Promise<void> {
  for (const person of await people(deps.db, viewer)) {
    if (person.unsubscribedMs !== null || person.body.email === null) continue;
    if (person.body.role === 'client') await careNotes(deps, viewer, person, nowMs);
    else await tellPerson(deps, viewer, person, nowMs);
  }
  await tellWebhooks(deps.db, viewer, nowMs);
}

/** Until people sign in pages open on the service's own machine alone: by another name a link to one would lead to a refusal. */
const opensPages = (publicUrl: string): boolean =>
  ['localhost', '127.0.0.1', '[::1]'].includes(new URL(publicUrl).hostname);

/** Whoever looks after rooms is led there; the first page is the technician's. */
const pageFor = (role: PersonBody['role'], url: string): string =>
  role === 'venue manager' ? `${url}/rooms` : url;

/** What concerns a person: all of it, the notices of some venues, or of some instruments. */
export function concerns({ body }: PersonRow, notice: Notice): boolean {
  if (body.role === 'technician') return true;
  if (body.role === 'venue manager') {
    return notice.venueId !== null && body.venueIds.includes(notice.venueId) && notice.toVenue !== '';
  }
  return notice.instrumentId !== null && body.instrumentIds.includes(notice.instrumentId);
}

/** What people are told of. A matter that goes on by another rule is no news to them, unless it is graver. */
const news = ['begins', 'worse', 'over'];
/** Read so many at a time, all of them: an import may begin thousands. */
const eventsAtOnce = 2000;

async function newsSince(
  db: Database,
  viewer: Viewer,
  seq: number,
  kinds: readonly string[] = news,
): Promise<NewsItem[]> {
  const found: NewsItem[] = [];
  for (let after = seq; ; ) {
    const events = await db
      .selectFrom('notice_event')
      .$call(seenBy(viewer, 'notice_event'))
      .select(['seq', 'notice_id', 'at_ms', 'kind', 'severity'])
      .where('seq', '>', after)
      .where('kind', 'in', kinds)
      .orderBy('seq')
      .limit(eventsAtOnce)
      .execute();
    const ids = events.map((one) => one.notice_id);
    const notices = await noticesById(db, viewer, ids);
    for (const { seq: at, notice_id, at_ms, kind, severity } of events) {
      const notice = notices.get(notice_id);
      // What is told under a venue-wide notice is told there.
      if (!notice || notice.partOf !== null) continue;
      found.push({ seq: at, atMs: at_ms, kind, severity: severity as NewsItem['severity'], notice });
    }
    const last = events.at(-1);
    if (!last || events.length < eventsAtOnce) return found;
    after = last.seq;
  }
}

async function noticesById(
  db: Database,
  viewer: Viewer,
  ids: readonly string[],
): Promise<Map<string, Notice>> {
  const found = new Map<string, Notice>();
  const all = [...new Set(ids)];
  for (let i = 0; i < all.length; i += 500) {
    const rows = await db
      .selectFrom('notice')
      .$call(seenBy(viewer, 'notice'))
      .selectAll()
      .where('id', 'in', all.slice(i, i + 500))
      .execute();
    for (const row of rows) found.set(row.id, noticeFromRow(row));
  }
  return found;
}

async function lastSeq(db: Database, viewer: Viewer): Promise<number> {
  const row = await db
    .selectFrom('notice_event')
    .$call(seenBy(viewer, 'notice_event'))
    .select(({ fn }) => fn.max('seq').as('seq'))
    .executeTakeFirst();
  return row?.seq ?? 0;
}

/** Of what is over its last words say how quiet it was at the end: what it was is what was said when it began. */
async function asTheyBegan(db: Database, viewer: Viewer, over: readonly Notice[]): Promise<Notice[]> {
  if (over.length === 0) return [];
  const rows = await db
    .selectFrom('notice_event')
    .$call(seenBy(viewer, 'notice_event'))
    .select(['notice_id', 'note'])
    .where('kind', '=', 'begins')
    .where('notice_id', 'in', among(over.map((one) => one.id)))
    .execute();
  const said = new Map(rows.map((one) => [one.notice_id, one.note]));
  return over.map((one) => ({ ...one, what: said.get(one.id) || one.what }));
}

export async function openTopNotices(db: Database, viewer: Viewer): Promise<Notice[]> {
  const rows = await db
    .selectFrom('notice')
    .$call(seenBy(viewer, 'notice'))
    .selectAll()
    .where('state', '<>', 'over')
    .where('part_of', 'is', null)
    .execute();
  return rows.map((row) => noticeFromRow(row));
}

async function lastOfKind(db: Database, personId: string, kind: string): Promise<number | null> {
  const row = await db
    .selectFrom('outgoing')
    .select(({ fn }) => fn.max('made_ms').as('madeMs'))
    .where('person_id', '=', personId)
    .where('kind', '=', kind)
    .executeTakeFirst();
  return row?.madeMs ?? null;
}

async function tellPerson(
  { db, publicUrl }: TellDeps,
  viewer: Viewer,
  person: PersonRow,
  nowMs: number,
): Promise<void> {
  const digestDue = nowMs >= nextDigestMs(person.body, person.digestMs);
  const upTo = await lastSeq(db, viewer);
  if (!digestDue && upTo === person.toldSeq) return;
  const fresh = (await newsSince(db, viewer, person.toldSeq)).filter((one) => concerns(person, one.notice));
  if (!digestDue && fresh.length === 0) return;
  const open = (await openTopNotices(db, viewer)).filter((one) => concerns(person, one));
  const told: Told = {
    digestMs: person.digestMs,
    lastAtOnceMs: await lastOfKind(db, person.id, 'at once'),
    lastReminderMs: await lastOfKind(db, person.id, 'reminder'),
  };
  const made = plan(person.body, fresh, open, told, nowMs);
  if (made.kind === 'wait') {
    if (made.heldBack) await logHeldBack(db, person, made.because, nowMs);
    // A digest hour that passed with only ends to tell is used up; the news stays.
    if (digestDue && made.because.startsWith('only ends'))
      await setAside(db, person, null, made.because, nowMs);
    return;
  }
  if (made.kind === 'set aside') return setAside(db, person, upTo, made.because, nowMs);
  const unsubscribe = publicUrl && `${publicUrl}/unsubscribe/${signLink(person, 'unsubscribe')}`;
  const page = publicUrl && opensPages(publicUrl) ? pageFor(person.body.role, publicUrl) : null;
  const passed = await asTheyBegan(db, viewer, made.passed);
  const links = { page, unsubscribe };
  const { subject, text, html } = noticeWords({ ...made, passed }, person.body, links, nowMs);
  const email: EmailBody = { subject, text, html, fromName: null, replyTo: null, unsubscribe };
  const kind = made.kind === 'digest' && made.reminded.length > 0 ? 'reminder' : made.kind;
  await db.transaction().execute(async (trx) => {
    await putOutgoing(
      trx,
      {
        organisationId: viewer.organisationId,
        channel: 'email',
        kind,
        personId: person.id,
        address: person.body.email ?? '',
        because: made.because,
        body: JSON.stringify(email),
      },
      nowMs,
    );
    const change = made.kind === 'digest' ? { told_seq: upTo, digest_ms: nowMs } : { told_seq: upTo };
    await trx.updateTable('person').set(change).where('id', '=', person.id).execute();
  });
}

/** Once, though every look finds it held back. */
async function logHeldBack(db: Database, person: PersonRow, because: string, nowMs: number): Promise<void> {
  const sentence = `quiet because ${because}`;
  const lately = await db
    .selectFrom('delivery')
    .select(['person_id', 'sentence'])
    .orderBy('seq', 'desc')
    .limit(500)
    .execute();
  if (lately.find((one) => one.person_id === person.id)?.sentence === sentence) return;
  const of = { organisationId: person.organisationId, personId: person.id };
  await logDelivery(db, of, 'quiet', sentence, nowMs);
}

async function setAside(
  db: Database,
  person: PersonRow,
  upTo: number | null,
  because: string,
  nowMs: number,
): Promise<void> {
  await db.transaction().execute(async (trx) => {
    await trx
      .updateTable('person')
      .set({ digest_ms: nowMs, ...(upTo === null ? {} : { told_seq: upTo }) })
      .where('id', '=', person.id)
      .execute();
    const of = { organisationId: person.organisationId, personId: person.id };
    await logDelivery(trx, of, 'quiet', `quiet because ${because}`, nowMs);
  });
}

/** A webhook hears of every change of a notice that stands for itself, as it comes. */
async function tellWebhooks(db: Database, viewer: Viewer, nowMs: number): Promise<void> {
  const hooks = await db.selectFrom('webhook').$call(seenBy(viewer, 'webhook')).selectAll().execute();
  for (const hook of hooks) {
    const upTo = await lastSeq(db, viewer);
    if (upTo === hook.told_seq) continue;
    const changes = await newsSince(db, viewer, hook.told_seq, [...news, 'becomes']);
    await db.transaction().execute(async (trx) => {
      for (const { seq, atMs, kind, notice } of changes) {
        await putOutgoing(
          trx,
          {
            organisationId: viewer.organisationId,
            channel: 'webhook',
            kind,
            webhookId: hook.id,
            address: hook.url,
            because: `notice ${kind}`,
            body: JSON.stringify({ sequence: seq, atMs, event: kind, notice }),
          },
          nowMs,
        );
      }
      await trx.updateTable('webhook').set({ told_seq: upTo }).where('id', '=', hook.id).execute();
    });
  }
}
