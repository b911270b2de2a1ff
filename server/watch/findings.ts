/** What inspections say that the watch goes by: what weakens the board, what is still to be done, the pins' torque. */
import type { Finding, JobId, Visit } from '../contract/index.ts';
import { boardFindings } from '../contract/index.ts';
import { itemKey, lastLooks } from '../visits/conditions.ts';

export type BoardFinding = (typeof boardFindings)[number];

/** What the last look at each part of the board found, visits newest first; a look without symptoms ends it. */
export function boardFindingsOf(visits: readonly Visit[]): BoardFinding[] {
  const found = new Set(
    lastLooks(visits).flatMap(({ finding, conditionClass }) =>
      finding && conditionClass > 0 ? [finding.part] : [],
    ),
  );
  return boardFindings.filter((part) => found.has(part));
}

export interface OpenFinding {
  readonly assembly: string;
  readonly part: string;
  readonly urgencyClass: Finding['urgencyClass'];
  readonly words: string;
  readonly workProposed: string | null;
  readonly minutes: number;
  readonly foundMs: number;
}

/**
 * Findings of urgency 2 or 3 that no later visit looked at again, and whose work was not done in their own visit or a
 * later one. The newest word on an item counts; one seen again keeps the day since which it has been urgent.
 * @param visits newest first
 */
export function openFindings(visits: readonly Visit[]): OpenFinding[] {
  const newest = new Map<string, OpenFinding | null>();
  const ended = new Set<string>();
  const done = new Set<JobId>();
  const seenSound = (item: string) => {
    if (!newest.has(item)) newest.set(item, null);
    ended.add(item);
  };
  for (const visit of visits) {
    for (const job of doneFor(visit)) done.add(job);
    for (const one of visit.findings) {
      const item = itemKey(one);
      const open = one.urgencyClass >= 2 && one.conditionClass > 0 && !(one.job && done.has(one.job));
      if (!open) seenSound(item);
      else if (!newest.has(item)) newest.set(item, pick(one, visit.atMs));
      else {
        const known = newest.get(item);
        if (known && !ended.has(item)) newest.set(item, { ...known, foundMs: visit.atMs });
      }
    }
    for (const item of visit.sheet?.sound ?? []) seenSound(item);
  }
  return [...newest.values()]
    .filter((one) => one !== null)
    .sort((a, b) => b.urgencyClass - a.urgencyClass || a.foundMs - b.foundMs);
}

/** Work done in a visit, unless it was proposed there all the same: then a part of it is left. */
function doneFor({ sheet }: Visit): JobId[] {
  const proposed = new Set((sheet?.estimate?.lines ?? []).map(({ job }) => job));
  return (sheet?.workDone ?? []).flatMap(({ job }) => (proposed.has(job) ? [] : [job]));
}

const pick = (one: Finding, foundMs: number): OpenFinding => ({
  assembly: one.assembly,
  part: one.part,
  urgencyClass: one.urgencyClass,
  words: one.words,
  workProposed: one.workProposed,
  minutes: one.estimatedMinutes ?? 60,
  foundMs,
});

/** Weakest torque of the last visit that measured any, N·m; null where none did. */
export function lastTorqueNm(visits: readonly Visit[]): number | null {
  for (const visit of visits) {
    const measured = visit.findings.flatMap((one) =>
      one.assembly === 'pinblock and pins' && /^N\s*[·.*]?\s*m$/i.test(one.measured?.unit ?? '')
        ? [one.measured?.value ?? Number.NaN]
        : [],
    );
    if (measured.length > 0) return Math.min(...measured);
  }
  return null;
}
