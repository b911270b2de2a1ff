/** What the rules decided, written down: notices and their histories, in the transaction of whoever calls. */
import { randomUUID } from 'node:crypto';
import type { Insertable, Updateable } from 'kysely';
import type { RuleName } from '../contract/index.ts';
import { among } from '../db/among.ts';
import type { Database } from '../db/database.ts';
import type { Records } from '../db/schema.ts';
import { seenBy, type Viewer } from '../registry/viewer.ts';
import { isSameMatter, type OpenEpisode, type Step, stepNotices } from './notice-life.ts';
import type { Decision, Words } from './rules/rule.ts';

export { noticeById, notices } from './notice-rows.ts';

export interface Subject {
  readonly id: string;
  readonly instrumentId: string | null;
  readonly sensorId: string | null;
  readonly venueId: string | null;
  readonly place: string;
}

export interface Decided {
  readonly subject: Subject;
  readonly decisions: readonly Decision[];
}

interface OpenRow extends OpenEpisode {
  readonly what: string;
  readonly toDo: string;
  readonly place: string;
  readonly venueId: string | null;
}

/** What is open of each subject. */
export async function openEpisodes(
  db: Database,
  viewer: Viewer,
  subjectIds: readonly string[],
): Promise<Map<string, OpenRow[]>> {
  const rows = await db
    .selectFrom('notice')
    .$call(seenBy(viewer, 'notice'))
    .select(['id', 'subject_id', 'rule', 'severity', 'state', 'what', 'to_do', 'place', 'venue_id'])
    .where('subject_id', 'in', among(subjectIds))
    .where('state', '<>', 'over')
    .execute();
  const open = new Map<string, OpenRow[]>();
  for (const { subject_id, state, to_do, venue_id, ...rest } of rows) {
    const episode = { ...rest, frozen: state === 'frozen', toDo: to_do, venueId: venue_id } as OpenRow;
    open.set(subject_id, [...(open.get(subject_id) ?? []), episode]);
  }
  return open;
}

const wordColumns = (words: Words) => ({
  what: words.what,
  why: words.why,
  to_do: words.toDo,
  to_venue: words.toVenue,
  to_client: words.toClient,
  not_before_ms: words.notBeforeMs,
  minutes: words.minutes,
  evidence: JSON.stringify(words.evidence),
});

/** Whoever left it alone left alone what it was: graver it is told. */
export const notLeftAlone = { snoozed_until_ms: null } as const;
const unheard = {
  acknowledged_ms: null,
  acknowledged_by: null,
  acknowledged_note: null,
  ...notLeftAlone,
} as const;

/**
 * Writes what follows from the decisions. Call inside a transaction, with what was open read in it or by the one writer.
 * @returns ids of the subjects for which something began, ended, froze or was said anew.
 */
export async function applyDecisions(
  db: Database,
  viewer: Viewer,
  all: readonly Decided[],
  open: ReadonlyMap<string, readonly OpenRow[]>,
  nowMs: number,
): Promise<Set<string>> {
  const organisation_id = viewer.organisationId;
  const changed = new Set<string>();
  const begun: Insertable<Records['notice']>[] = [];
  const events: Insertable<Records['notice_event']>[] = [];
  const note = (notice_id: string, kind: string, severity: number, words: string) =>
    events.push({ organisation_id, notice_id, at_ms: nowMs, kind, severity, note: words });
  const set = (id: string, change: Updateable<Records['notice']>) =>
    db
      .updateTable('notice')
      .set(change)
      .where('organisation_id', '=', organisation_id)
      .where('id', '=', id)
      .execute();

  async function take(subject: Subject, step: Step, episode: OpenRow | undefined): Promise<void> {
    const { decision } = step;
    if (step.kind === 'begins') {
      const id = randomUUID();
      const words = decision.words();
      changed.add(subject.id);
      begun.push({
        id,
        organisation_id,
        rule: decision.rule,
        subject_id: subject.id,
        instrument_id: subject.instrumentId,
        sensor_id: subject.sensorId,
        venue_id: subject.venueId,
        place: subject.place,
        state: 'open',
        severity: decision.severity,
        began_ms: decision.sinceMs ?? nowMs,
        over_ms: null,
        ...wordColumns(words),
      });
      note(id, 'begins', decision.severity, words.what);
      return;
    }
    if (step.kind === 'over') {
      changed.add(subject.id);
      await set(step.id, {
        state: 'over',
        over_ms: nowMs,
        frozen_because: null,
        ended_because: step.because,
      });
      note(step.id, 'over', decision.severity, step.because);
      return;
    }
    if (step.kind === 'freezes') {
      changed.add(subject.id);
      await set(step.id, { state: 'frozen', frozen_because: step.because });
      note(step.id, 'freezes', decision.severity, step.because);
      return;
    }
    const words = decision.words();
    const thaws = episode?.frozen ?? false;
    const becomes = step.kind === 'becomes';
    const same = !becomes && episode?.what === words.what && episode.toDo === words.toDo;
    if (same && !thaws && episode?.severity === decision.severity) return;
    changed.add(subject.id);
    // Within an episode severity rises and is kept: what was once urgent has been said to be.
    const severity = Math.max(decision.severity, episode?.severity ?? 0);
    await set(step.id, {
      ...wordColumns(words),
      rule: decision.rule,
      state: 'open',
      frozen_because: null,
      severity,
      // Who knew of the lesser matter, or left it alone, has not heard of the graver one.
      ...(step.worse ? (becomes ? unheard : notLeftAlone) : {}),
    });
    if (becomes) note(step.id, 'becomes', severity, words.what);
    if (thaws) note(step.id, 'goes on', severity, 'its data is fresh again');
    if (step.worse) note(step.id, 'worse', severity, words.what);
  }

  /** A piano or a sensor that was moved takes along what is open of it: whoever is called for it goes where it stands now. */
  async function follow({ id, place, venueId }: Subject, episode: OpenRow): Promise<void> {
    if (episode.place === place && episode.venueId === venueId) return;
    changed.add(id);
    const alone = episode.venueId === venueId ? {} : { part_of: null };
    await set(episode.id, { place, venue_id: venueId, ...alone });
  }

  for (const { subject, decisions } of all) {
    const episodes = open.get(subject.id) ?? [];
    for (const episode of episodes) await follow(subject, episode);
    for (const step of stepNotices(episodes, decisions)) {
      const id = step.kind === 'begins' ? null : step.id;
      await take(
        subject,
        step,
        episodes.find((one) => one.id === id),
      );
    }
  }
  for (const row of await stillSnoozed(db, viewer, begun, nowMs)) {
    row.notice.snoozed_until_ms = row.untilMs;
    note(row.notice.id, 'snoozed', row.notice.severity, 'left alone since an episode before');
  }
  for (let i = 0; i < begun.length; i += 100) {
    await db
      .insertInto('notice')
      .values(begun.slice(i, i + 100))
      .execute();
  }
  await insertEvents(db, events);
  return changed;
}

/**
 * Who left a matter alone until a time meant the matter, not its episode: one that ends and begins again meanwhile stays
 * left alone, also where another rule tells of it, unless it is graver now.
 */
export async function stillSnoozed(
  db: Database,
  viewer: Viewer,
  begun: readonly Insertable<Records['notice']>[],
  nowMs: number,
): Promise<{ readonly notice: Insertable<Records['notice']>; readonly untilMs: number }[]> {
  if (begun.length === 0) return [];
  const subjects = [...new Set(begun.map((one) => one.subject_id))];
  const rows = await db
    .selectFrom('notice')
    .$call(seenBy(viewer, 'notice'))
    .select(['subject_id', 'rule', 'severity', 'snoozed_until_ms'])
    .where('subject_id', 'in', subjects)
    .where('state', '=', 'over')
    .where('snoozed_until_ms', '>', nowMs)
    .execute();
  return begun.flatMap((notice) => {
    const mine = rows.filter(
      (row) =>
        row.subject_id === notice.subject_id &&
        isSameMatter(row.rule as RuleName, notice.rule as RuleName) &&
        notice.severity <= row.severity,
    );
    const untilMs = Math.max(0, ...mine.map((row) => row.snoozed_until_ms ?? 0));
    return untilMs > 0 ? [{ notice, untilMs }] : [];
  });
}

export async function insertEvents(
  db: Database,
  events: readonly Insertable<Records['notice_event']>[],
): Promise<void> {
  for (let i = 0; i < events.length; i += 200) {
    await db
      .insertInto('notice_event')
      .values(events.slice(i, i + 200))
      .execute();
  }
}
