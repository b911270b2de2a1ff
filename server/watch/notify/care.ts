/**
 * Care notes: what a client hears of the piano at home, in the technician's name. Plain words, at most one a week for an
 * instrument unless its board is at risk now; what happened, what to do in the house, when the technician comes.
 */
import { DateTime } from 'luxon';
import type { CareSituation, CareWords, Notice } from '../../contract/index.ts';
import type { Database } from '../../db/database.ts';
import { type PersonRow, people } from '../../registry/people.ts';
import { seenBy, type Viewer } from '../../registry/viewer.ts';
import { byWeight, cautionsFor, isUrgent } from '../advice.ts';
import { dayName } from '../wording.ts';
import { signLink } from './links.ts';
import { logDelivery, putOutgoing } from './outgoing.ts';
import { isQuietAt, nextDigestMs } from './plan.ts';
import { openTopNotices, type TellDeps } from './tell.ts';
import { escaped, oneLine, wrapped } from './words.ts';

const weekMs = 7 * 86_400_000;

const situationOf: Partial<Record<Notice['rule'], CareSituation>> = {
  'board-dry': 'hot dry winter',
  'pins-dry': 'hot dry winter',
  'board-wet': 'damp summer',
  'action-wet': 'damp summer',
  rust: 'damp summer',
  mould: 'damp summer',
  sweat: 'damp summer',
  'control-lost': 'humidity control dry',
  'pitch-out': 'tuning',
  'unisons-out': 'tuning',
  'service-due': 'tuning',
};

export const usualCareWords: Readonly<Record<CareSituation, CareWords>> = {
  'hot dry winter': {
    subject: 'The air around your piano is too dry',
    words:
      'Dear {client},\n\n{what} Please run a humidifier in the room: a little more each day, at most 5 points, up to about 42 %, and less if the windows run wet. Keep the piano away from radiators and direct sun.\n\n{dates}\n\n{link}\n\n{technician}',
  },
  'damp summer': {
    subject: 'The air around your piano is too damp',
    words:
      'Dear {client},\n\n{what} Please air the room when it is drier outside than in, or run a dehumidifier: a little less humidity each day, at most 5 points, down to about 50 %.\n\n{dates}\n\n{link}\n\n{technician}',
  },
  'humidity control dry': {
    subject: 'The humidity control in your piano needs a look',
    words:
      'Dear {client},\n\n{what} Please fill its tank as you were shown: unplug it first, fill it, plug it in again and check that it runs.\n\n{dates}\n\n{link}\n\n{technician}',
  },
  'moved piano': {
    subject: 'Your piano in its new place',
    words:
      'Dear {client},\n\nyour {instrument} has a new place. {what} It needs some weeks to get used to the air of the new room; please do not have it tuned before.\n\n{dates}\n\n{link}\n\n{technician}',
  },
  tuning: {
    subject: 'Your piano is ready for its tuning',
    words: 'Dear {client},\n\n{what}\n\n{dates}\n\n{link}\n\n{technician}',
  },
};

export async function careWords(db: Database, viewer: Viewer, situation: CareSituation): Promise<CareWords> {
  const own = await db
    .selectFrom('care_words')
    .$call(seenBy(viewer, 'care_words'))
    .select(['subject', 'words'])
    .where('situation', '=', situation)
    .executeTakeFirst();
  return own ?? usualCareWords[situation];
}

/** Three weekdays on which the technician could come: never before it is wise. */
export function offeredDates(notBeforeMs: number | null, timeZone: string, nowMs: number): number[] {
  let day = DateTime.fromMillis(Math.max(nowMs + 3 * 86_400_000, notBeforeMs ?? 0), { zone: timeZone }).set({
    hour: 10,
    minute: 0,
    second: 0,
    millisecond: 0,
  });
  const dates: number[] = [];
  while (dates.length < 3) {
    if (day.weekday <= 5) dates.push(day.toMillis());
    day = day.plus({ days: day.weekday === 5 ? 3 : 2 });
  }
  return dates;
}

export const filled = (template: string, values: Readonly<Record<string, string>>): string =>
  template
    .replaceAll(/\{(\w+)\}/g, (whole, key: string) => values[key] ?? whole)
    .replaceAll(/\n{3,}/g, '\n\n');

/** What a client's instrument has open that has words for a client. */
async function openFor(db: Database, viewer: Viewer, instrumentId: string): Promise<Notice[]> {
  const open = await openTopNotices(db, viewer);
  return byWeight(
    open.filter((one) => one.instrumentId === instrumentId && one.toClient !== '' && situationOf[one.rule]),
  );
}

export async function careNotes(
  deps: TellDeps,
  viewer: Viewer,
  person: PersonRow,
  nowMs: number,
): Promise<void> {
  const { db, publicUrl } = deps;
  if (isQuietAt(person.body, nowMs)) return;
  for (const instrumentId of person.body.instrumentIds) {
    const [first] = await openFor(db, viewer, instrumentId);
    if (!first) continue;
    const urgent = isUrgent(first);
    const last = await db
      .selectFrom('outgoing')
      .select(['made_ms', 'because'])
      .where('person_id', '=', person.id)
      .where('instrument_id', '=', instrumentId)
      .where('kind', '=', 'care note')
      .orderBy('made_ms', 'desc')
      .executeTakeFirst();
    const because = `“${first.what}” began`;
    // The same episode is told once; what is urgent does not wait a week for what was not.
    const toldOfIt = await wasTold(db, person.id, first.id);
    if (toldOfIt || (last && !urgent && nowMs - last.made_ms < weekMs)) continue;
    if (!urgent && nowMs < nextDigestMs(person.body, Math.max(first.beganMs, last?.made_ms ?? 0))) continue;
    await sendCareNote({ db, publicUrl }, viewer, person, instrumentId, first, because, nowMs);
  }
}

async function wasTold(db: Database, personId: string, noticeId: string): Promise<boolean> {
  const row = await db
    .selectFrom('delivery')
    .select('seq')
    .where('person_id', '=', personId)
    .where('kind', '=', `care ${noticeId}`)
    .executeTakeFirst();
  return row !== undefined;
}

async function sendCareNote(
  { db, publicUrl }: TellDeps,
  viewer: Viewer,
  person: PersonRow,
  instrumentId: string,
  notice: Notice,
  because: string,
  nowMs: number,
): Promise<void> {
  const situation = situationOf[notice.rule] ?? 'tuning';
  const template = await careWords(db, viewer, situation);
  const technician = (await people(db, viewer)).find((one) => one.body.role === 'technician');
  const [, room = '', instrument = ''] = notice.place.split(' · ');
  const { timeZone } = person.body;
  const dates = offeredDates(notice.notBeforeMs, timeZone, nowMs).map((one) => dayName(one, timeZone, nowMs));
  const link = publicUrl && `${publicUrl}/care/${signLink(person, 'care', instrumentId)}`;
  const unsubscribe = publicUrl && `${publicUrl}/unsubscribe/${signLink(person, 'unsubscribe')}`;
  const hands = notice.minutes > 0;
  const values = {
    client: person.body.name,
    instrument,
    room,
    what: notice.toClient,
    technician: technician?.body.name ?? 'Your piano technician',
    dates: hands ? `Dates on which I could come: ${dates.join(', ')}.` : 'You need not do anything else.',
    link: link
      ? `Choose a date, tell me that it is done, or ask me to call: ${link}`
      : 'Just answer this message.',
  };
  const cautions = cautionsFor(notice.rule).filter((one) => !one.startsWith('The strings'));
  const care =
    cautions.length > 0 ? `\n\nPlease take care:\n${cautions.map((one) => `- ${one}`).join('\n')}` : '';
  const stop = unsubscribe ? `\n\nNo more of these notes: ${unsubscribe}` : '';
  const text = `${filled(template.words, values)}${care}${stop}`.replaceAll('\u00a0', ' ');
  const html = wrapped(
    text
      .split('\n\n')
      .map(
        (part) =>
          `<p style="margin:0 0 14px;white-space:pre-line">${escaped(part).replaceAll(/https?:\/\/[^\s<]+/g, (url) => `<a href="${url}" style="color:inherit">${url}</a>`)}</p>`,
      )
      .join(''),
  );
  const body = {
    subject: oneLine(filled(template.subject, values)),
    text,
    html,
    fromName: technician?.body.name ?? null,
    replyTo: technician?.body.email ?? null,
    unsubscribe,
  };
  await db.transaction().execute(async (trx) => {
    const outgoingId = await putOutgoing(
      trx,
      {
        organisationId: viewer.organisationId,
        channel: 'email',
        kind: 'care note',
        personId: person.id,
        instrumentId,
        address: person.body.email ?? '',
        because,
        body: JSON.stringify(body),
      },
      nowMs,
    );
    const of = { organisationId: viewer.organisationId, outgoingId, personId: person.id };
    await logDelivery(trx, of, `care ${notice.id}`, `this episode was told to ${person.body.name}`, nowMs);
  });
}
