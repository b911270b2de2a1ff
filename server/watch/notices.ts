/** Notices as they are kept and read. */
import { randomUUID } from 'node:crypto';
import type { Notice } from '../contract/index.ts';
import { notice as noticeSchema } from '../contract/index.ts';
import type { Database } from '../db/database.ts';
import type { Records } from '../db/schema.ts';
import { seenBy, type Viewer } from '../registry/viewer.ts';
import { type OpenEpisode, type Step, stepNotices } from './notice-life.ts';
import type { Decision, RuleName } from './rules/rule.ts';

function fromRow(row: Records['notice']): Notice {
  return noticeSchema.parse({
    id: row.id,
    rule: row.rule,
    instrumentId: row.instrument_id,
    sensorId: row.sensor_id,
    venueId: row.venue_id,
    place: row.place,
    severity: row.severity,
    state: row.state,
    beganMs: row.began_ms,
    overMs: row.over_ms,
    what: row.what,
    why: row.why,
    toDo: row.to_do,
    notBeforeMs: row.not_before_ms,
    minutes: row.minutes,
    evidence: JSON.parse(row.evidence),
  });
}

/** Open and frozen ones first, then by when they began, newest first. */
export async function notices(
  db: Database,
  viewer: Viewer,
  which: { readonly over: boolean; readonly instrumentId?: string },
): Promise<Notice[]> {
  let query = db.selectFrom('notice').$call(seenBy(viewer, 'notice')).selectAll();
  if (!which.over) query = query.where('state', '<>', 'over');
  if (which.instrumentId) query = query.where('instrument_id', '=', which.instrumentId);
  const rows = await query.orderBy('over_ms').orderBy('began_ms', 'desc').limit(1000).execute();
  return rows.map(fromRow).sort((a, b) => Number(a.state === 'over') - Number(b.state === 'over'));
}

export interface Subject {
  readonly id: string;
  readonly instrumentId: string | null;
  readonly sensorId: string | null;
  readonly venueId: string | null;
  readonly place: string;
}

/** Applies what the rules decided about one subject. Call inside a transaction: it reads and writes. */
export async function applyDecisions(
  db: Database,
  viewer: Viewer,
  subject: Subject,
  asked: readonly RuleName[],
  decisions: readonly Decision[],
  nowMs: number,
): Promise<Step[]> {
  const open = await db
    .selectFrom('notice')
    .$call(seenBy(viewer, 'notice'))
    .select(['id', 'rule', 'began_ms as beganMs'])
    .where('subject_id', '=', subject.id)
    .where('state', '<>', 'over')
    .execute();
  const steps = stepNotices(open as OpenEpisode[], asked, decisions);
  for (const step of steps) await apply(db, viewer, subject, step, nowMs);
  return steps;
}

const words = (decision: Decision) => ({
  severity: decision.severity,
  what: decision.what,
  why: decision.why,
  to_do: decision.toDo,
  not_before_ms: decision.notBeforeMs,
  minutes: decision.minutes,
  evidence: JSON.stringify(decision.evidence),
});

async function apply(
  db: Database,
  viewer: Viewer,
  subject: Subject,
  step: Step,
  nowMs: number,
): Promise<void> {
  if (step.kind === 'begins') {
    await db
      .insertInto('notice')
      .values({
        id: randomUUID(),
        organisation_id: viewer.organisationId,
        rule: step.decision.rule,
        subject_id: subject.id,
        instrument_id: subject.instrumentId,
        sensor_id: subject.sensorId,
        venue_id: subject.venueId,
        place: subject.place,
        state: 'open',
        began_ms: step.decision.sinceMs,
        over_ms: null,
        ...words(step.decision),
      })
      // Another process may have begun the same episode a moment ago.
      .onConflict((conflict) => conflict.doNothing())
      .execute();
    return;
  }
  const change =
    step.kind === 'over'
      ? { state: 'over', over_ms: nowMs }
      : step.kind === 'freezes'
        ? { state: 'frozen' }
        : { state: step.state, place: subject.place, ...words(step.decision) };
  await db
    .updateTable('notice')
    .set(change)
    .where('organisation_id', '=', viewer.organisationId)
    .where('id', '=', step.id)
    .execute();
}
