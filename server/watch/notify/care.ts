/**
 * Care notes: what a client hears of the piano at home, in the technician's name. Plain words, at most one a week for an
 * instrument unless its board is at risk now; what happened, what to do in the house, when the technician comes.
 */
import type { CareSituation, CareWords, Notice } from '../../contract/index.ts';
import type { Database } from '../../db/database.ts';
import { instrument } from '../../registry/instruments.ts';
import { moves } from '../../registry/moves.ts';
import type { PersonRow } from '../../registry/people.ts';
import { seenBy, type Viewer } from '../../registry/viewer.ts';
import { byWeight, cautionsFor, isUrgent } from '../advice.ts';
import { cautions } from '../cautions.ts';
import { notices } from '../notice-rows.ts';
import { dayName } from '../wording.ts';
import { type CareMatter, sendCareNote } from './care-note.ts';
import { isQuietAt, nextDigestMs } from './plan.ts';
import type { TellDeps } from './tell.ts';

const weekMs = 7 * 86_400_000;
/** A move noted longer ago is no news. */
const movedMs = 3 * weekMs;

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
      'Dear {client},\n\n{what} If it asks for water, please fill its tank as you were shown: unplug it first, fill it, plug it in again and check that it runs.\n\n{dates}\n\n{link}\n\n{technician}',
  },
  'moved piano': {
    subject: 'Your piano in its new place',
    words:
      'Dear {client},\n\nyour {instrument} has a new place. {what} It needs some weeks to get used to the air there; please do not have it tuned before. Keep it away from radiators, stoves, outer doors and direct sun, and leave moving it again to piano movers.\n\n{dates}\n\n{link}\n\n{technician}',
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

/** What a client's instrument has open that has words for a client, and that nobody left alone until later. */
async function openFor(db: Database, viewer: Viewer, instrumentId: string, nowMs: number): Promise<Notice[]> {
  // A client hears of the own piano, also where the house is told of all of its pianos at once.
  const open = await notices(db, viewer, { over: false, instrumentId });
  return byWeight(
    open.filter((one) => one.toClient !== '' && situationOf[one.rule] && (one.snoozedUntilMs ?? 0) <= nowMs),
  );
}

export async function careNotes(
  deps: TellDeps,
  viewer: Viewer,
  person: PersonRow,
  nowMs: number,
): Promise<void> {
  if (isQuietAt(person.body, nowMs)) return;
  for (const instrumentId of person.body.instrumentIds) {
    const matter = await due(deps.db, viewer, person, instrumentId, nowMs);
    if (!matter) continue;
    const template = await careWords(deps.db, viewer, matter.situation);
    await sendCareNote(deps, viewer, person, matter, template, nowMs);
  }
}

/** What is to be told of an instrument now: what is open and untold, else that it has a new place. */
async function due(
  db: Database,
  viewer: Viewer,
  person: PersonRow,
  instrumentId: string,
  nowMs: number,
): Promise<CareMatter | null> {
  const lastMs = await lastNoteMs(db, person.id, instrumentId);
  const thisWeek = lastMs !== null && nowMs - lastMs < weekMs;
  const open = await openFor(db, viewer, instrumentId, nowMs);
  const told = await toldOf(
    db,
    person.id,
    open.flatMap((one) => [one.id, atRisk(one)]),
  );
  // What is urgent does not wait a week for what was not, nor is it told by having been told of while it was not.
  const urgent = open.find((one) => isUrgent(one) && !told.has(atRisk(one)));
  if (urgent) return matterOf(urgent, instrumentId);
  // Each episode is told once; what asks for the same as one that was told and goes on is no news.
  const isTold = (one: Notice) => told.has(one.id) || told.has(atRisk(one));
  const asked = new Set(open.filter(isTold).map((one) => situationOf[one.rule]));
  const first = open.find((one) => !isTold(one) && !asked.has(situationOf[one.rule]));
  const afterMs = Math.max(first?.beganMs ?? 0, lastMs ?? 0);
  if (first && !thisWeek && nowMs >= nextDigestMs(person.body, afterMs)) return matterOf(first, instrumentId);
  return thisWeek ? null : movedMatter(db, viewer, person, instrumentId, nowMs);
}

/** Under which it is told once that a board is at risk now. */
const atRisk = ({ id }: Notice): string => `${id} at risk`;

function matterOf(notice: Notice, instrumentId: string): CareMatter {
  const [, room = '', instrument = ''] = notice.place.split(' · ');
  return {
    situation: situationOf[notice.rule] ?? 'tuning',
    instrumentId,
    room,
    instrument,
    what: notice.toClient,
    hands: notice.minutes > 0,
    notBeforeMs: notice.notBeforeMs,
    // The strings are the technician's to mind.
    cautions: cautionsFor(notice.rule).filter((one) => one !== cautions.strings),
    about: isUrgent(notice) ? atRisk(notice) : notice.id,
    because: `“${notice.what}” began`,
  };
}

/** A move lately noted and not told yet. A tuning soon after it would be undone: the wood takes weeks to the new air. */
async function movedMatter(
  db: Database,
  viewer: Viewer,
  person: PersonRow,
  instrumentId: string,
  nowMs: number,
): Promise<CareMatter | null> {
  const last = (await moves(db, viewer, instrumentId)).at(-1);
  if (!last || last.roomId === null || last.atMs > nowMs || nowMs - last.atMs > movedMs) return null;
  const about = `move ${last.id}`;
  if ((await toldOf(db, person.id, [about])).has(about)) return null;
  if (nowMs < nextDigestMs(person.body, last.atMs)) return null;
  const piano = await instrument(db, viewer, instrumentId);
  return {
    situation: 'moved piano',
    instrumentId,
    room: piano.roomName,
    instrument: piano.name,
    what: `Since ${dayName(last.atMs, person.body.timeZone, nowMs)} it stands in another room: ${piano.roomName}.`,
    hands: false,
    notBeforeMs: null,
    cautions: [cautions.heavy],
    about,
    because: 'the piano has a new place',
  };
}

async function lastNoteMs(db: Database, personId: string, instrumentId: string): Promise<number | null> {
  const row = await db
    .selectFrom('outgoing')
    .select(({ fn }) => fn.max('made_ms').as('madeMs'))
    .where('person_id', '=', personId)
    .where('instrument_id', '=', instrumentId)
    .where('kind', '=', 'care note')
    .executeTakeFirst();
  return row?.madeMs ?? null;
}

/** Which of these the person was told. */
async function toldOf(db: Database, personId: string, about: readonly string[]): Promise<Set<string>> {
  if (about.length === 0) return new Set();
  const kinds = about.map((one) => `care ${one}`);
  const rows = await db
    .selectFrom('delivery')
    .select('kind')
    .where('person_id', '=', personId)
    .where('kind', 'in', kinds)
    .execute();
  return new Set(rows.map(({ kind }) => kind.slice('care '.length)));
}
