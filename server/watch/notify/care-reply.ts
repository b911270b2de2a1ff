/** What a client answered on the care page, kept, and on its way to the technician in the same transaction. */
import { randomUUID } from 'node:crypto';
import type { CareAnswer } from '../../contract/index.ts';
import type { Database } from '../../db/database.ts';
import { instruments, placeOf } from '../../registry/instruments.ts';
import { type PersonRow, people } from '../../registry/people.ts';
import { seenBy, type Viewer } from '../../registry/viewer.ts';
import { dayName } from '../wording.ts';
import { logDelivery, putOutgoing } from './outgoing.ts';
import { escaped, oneLine, wrapped } from './words.ts';

export const careAnswers = ['done', 'call me', 'date'] as const;

export interface CareReply {
  readonly instrumentId: string;
  /** Room and piano as a person calls them. */
  readonly place: string;
  readonly answer: (typeof careAnswers)[number];
  readonly dateMs: number | null;
}

/** The same answer again within a day is the same answer: a page reloaded, a button pressed twice. */
const sameMs = 86_400_000;

/** @returns whether it was news. */
export async function takeCareReply(
  db: Database,
  viewer: Viewer,
  person: PersonRow,
  reply: CareReply,
  nowMs: number,
): Promise<boolean> {
  const technicians = (await people(db, viewer)).filter(
    (one) => one.body.role === 'technician' && one.body.email !== null,
  );
  return db.transaction().execute(async (trx) => {
    const last = await trx
      .selectFrom('care_answer')
      .selectAll()
      .where('person_id', '=', person.id)
      .where('instrument_id', '=', reply.instrumentId)
      .orderBy('answered_ms', 'desc')
      .executeTakeFirst();
    const again =
      last?.answer === reply.answer && last.date_ms === reply.dateMs && nowMs - last.answered_ms < sameMs;
    if (again) return false;
    await trx
      .insertInto('care_answer')
      .values({
        id: randomUUID(),
        organisation_id: viewer.organisationId,
        instrument_id: reply.instrumentId,
        person_id: person.id,
        answer: reply.answer,
        date_ms: reply.dateMs,
        answered_ms: nowMs,
      })
      .execute();
    const said = saidBy(person, reply, nowMs);
    for (const technician of technicians) {
      await putOutgoing(
        trx,
        {
          organisationId: viewer.organisationId,
          channel: 'email',
          kind: 'care answer',
          personId: technician.id,
          instrumentId: reply.instrumentId,
          address: technician.body.email ?? '',
          because: `${person.body.name} answered a care note`,
          body: JSON.stringify({ ...said, fromName: null, replyTo: person.body.email, unsubscribe: null }),
        },
        nowMs,
      );
    }
    if (technicians.length === 0) {
      const of = { organisationId: viewer.organisationId, personId: person.id };
      await logDelivery(trx, of, 'quiet', `${said.subject}: no technician has an address`, nowMs);
    }
    return true;
  });
}

const shownMs = 60 * 86_400_000;

/** Newest first, of the last two months: also where no mail goes out, an answer is read. */
export async function careAnswersOf(db: Database, viewer: Viewer, nowMs: number): Promise<CareAnswer[]> {
  const rows = await db
    .selectFrom('care_answer')
    .$call(seenBy(viewer, 'care_answer'))
    .selectAll()
    .where('answered_ms', '>', nowMs - shownMs)
    .orderBy('answered_ms', 'desc')
    .limit(100)
    .execute();
  const clients = new Map((await people(db, viewer)).map((one) => [one.id, one.body]));
  const pianos = new Map((await instruments(db, viewer)).map((one) => [one.id, placeOf(one)]));
  return rows.flatMap((row): CareAnswer[] => {
    const answer = careAnswers.find((one) => one === row.answer);
    const client = clients.get(row.person_id);
    if (!answer || !client) return [];
    return [
      {
        id: row.id,
        instrumentId: row.instrument_id,
        place: pianos.get(row.instrument_id) ?? 'a piano that is gone',
        client: client.name,
        timeZone: client.timeZone,
        answer,
        dateMs: row.date_ms,
        answeredMs: row.answered_ms,
      },
    ];
  });
}

/** What a technician reads: who, what, which piano, how to answer. */
function saidBy(
  person: PersonRow,
  { place, answer, dateMs }: CareReply,
  nowMs: number,
): { subject: string; text: string; html: string } {
  const { name, email, timeZone } = person.body;
  const what = {
    done: 'says it is seen to',
    'call me': 'asks to be called',
    date: `chose ${dayName(dateMs ?? nowMs, timeZone, nowMs)}`,
  }[answer];
  const next = {
    done: 'The watch goes by the air: if it does not get better within days, a notice stays or comes again.',
    'call me': 'Please call.',
    date: 'Please confirm the date, and plan it among the rounds.',
  }[answer];
  const how = email === null ? '' : ` Answering this message writes to ${name}.`;
  const lines = [`${name} ${what}.`, place, `${next}${how}`].map((one) => one.replaceAll('\u00a0', ' '));
  const subject = oneLine(`${name} ${what.replaceAll('\u00a0', ' ')}`);
  return {
    subject,
    text: lines.join('\n\n'),
    html: wrapped(subject, lines.map((one) => `<p style="margin:0 0 14px">${escaped(one)}</p>`).join('')),
  };
}
