/** What the visits of an instrument say last of each item: kept beside them, so that lists need not read every visit. */
import type { Class0to3, Finding, OpenFinding, OwnTimes, Visit } from '../contract/index.ts';
import { finding as findingSchema, itemIds, itemOf, ownTimes } from '../contract/index.ts';
import type { Database } from '../db/database.ts';
import { seenBy, type Viewer } from '../registry/viewer.ts';
import { isTuning } from './is-tuning.ts';

export interface Condition {
  readonly item: string;
  readonly visitId: string;
  readonly atMs: number;
  readonly conditionClass: Class0to3;
  readonly finding: Finding | null;
}

const boardItems = new Map(
  itemIds.flatMap((id) => {
    const part = itemOf(id)?.item.board?.part;
    return part ? [[part, id] as const] : [];
  }),
);

/** First-form findings name no item: the board's go by their part, others by assembly and part. */
export const itemKey = (finding: Finding): string =>
  finding.itemId ?? boardItems.get(finding.part) ?? `${finding.assembly}: ${finding.part}`;

/** @param visits newest first, corrected ones left out. */
export function lastLooks(visits: readonly Visit[]): Condition[] {
  const byItem = new Map<string, Condition>();
  for (const visit of visits) {
    const { id: visitId, atMs } = visit;
    for (const finding of visit.findings) {
      const item = itemKey(finding);
      const { conditionClass } = finding;
      if (!byItem.has(item)) byItem.set(item, { item, visitId, atMs, conditionClass, finding });
    }
    for (const item of visit.sheet?.sound ?? []) {
      if (!byItem.has(item)) byItem.set(item, { item, visitId, atMs, conditionClass: 0, finding: null });
    }
  }
  return [...byItem.values()];
}

/** Minutes by job that these visits tell; a plain tuning visit is all tuning. */
export function workTimes(visits: readonly Visit[]): { visitId: string; job: string; minutes: number }[] {
  return visits.flatMap((visit) => {
    const { id: visitId } = visit;
    if (visit.sheet) {
      return visit.sheet.workDone.flatMap(({ job, minutes }) =>
        minutes === null ? [] : [{ visitId, job, minutes }],
      );
    }
    const plain = visit.findings.length === 0 && !visit.stringWork && isTuning(visit);
    return plain && visit.minutes !== null ? [{ visitId, job: 'tuning', minutes: visit.minutes }] : [];
  });
}

/** To be run in the transaction that changed the visits. */
export async function rebuildDerived(
  db: Database,
  viewer: Viewer,
  instrumentId: string,
  visits: readonly Visit[],
): Promise<void> {
  const whose = { instrument_id: instrumentId, organisation_id: viewer.organisationId };
  for (const table of ['condition', 'work_done'] as const) {
    await db.deleteFrom(table).where('instrument_id', '=', instrumentId).execute();
  }
  const looks = lastLooks(visits).map((one) => ({
    ...whose,
    item: one.item,
    visit_id: one.visitId,
    at_ms: one.atMs,
    condition_class: one.conditionClass,
    finding: one.finding === null ? null : JSON.stringify(one.finding),
  }));
  const times = workTimes(visits).map(({ visitId, job, minutes }) => ({
    ...whose,
    visit_id: visitId,
    job,
    minutes,
  }));
  if (looks.length > 0) await db.insertInto('condition').values(looks).execute();
  if (times.length > 0) await db.insertInto('work_done').values(times).execute();
}

/** Of one instrument, or of all of the viewer's. */
export async function conditions(
  db: Database,
  viewer: Viewer,
  instrumentId?: string,
): Promise<Map<string, Condition[]>> {
  let query = db.selectFrom('condition').$call(seenBy(viewer, 'condition')).selectAll();
  if (instrumentId !== undefined) query = query.where('instrument_id', '=', instrumentId);
  const byInstrument = new Map<string, Condition[]>();
  for (const row of await query.execute()) {
    const one: Condition = {
      item: row.item,
      visitId: row.visit_id,
      atMs: row.at_ms,
      conditionClass: row.condition_class as Class0to3,
      finding: row.finding === null ? null : findingSchema.parse(JSON.parse(row.finding)),
    };
    const list = byInstrument.get(row.instrument_id);
    if (list) list.push(one);
    else byInstrument.set(row.instrument_id, [one]);
  }
  return byInstrument;
}

/** What is still open: worst first. */
export function openFindings(looks: readonly Condition[]): OpenFinding[] {
  return looks
    .flatMap(({ finding, visitId, atMs }) =>
      finding && finding.conditionClass > 0 ? [{ visitId, atMs, finding }] : [],
    )
    .sort((a, b) => b.finding.urgencyClass - a.finding.urgencyClass || b.atMs - a.atMs);
}

/** How long works took in this organisation. */
export async function ownTimesOf(db: Database, viewer: Viewer): Promise<Record<string, OwnTimes>> {
  const rows = await db
    .selectFrom('work_done')
    .$call(seenBy(viewer, 'work_done'))
    .select(['job', 'minutes'])
    .execute();
  const byJob = new Map<string, number[]>();
  for (const { job, minutes } of rows) byJob.set(job, [...(byJob.get(job) ?? []), minutes]);
  return Object.fromEntries(
    [...byJob].flatMap(([job, minutes]) => {
      const times = ownTimes(minutes);
      return times ? [[job, times]] : [];
    }),
  );
}
