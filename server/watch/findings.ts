/** What inspections say that the watch goes by: what weakens the board, what is still to be done, the pins' torque. */
import type { Finding, Visit } from '../contract/index.ts';
import { boardFindings } from '../contract/index.ts';

export type BoardFinding = (typeof boardFindings)[number];

/** What was seen last of each part of the board, visits newest first; class 0 means "looked at, no symptoms". */
export function boardFindingsOf(visits: readonly Visit[]): BoardFinding[] {
  const findings = visits.flatMap((visit) => visit.findings);
  return boardFindings.filter((part) => (findings.find((one) => one.part === part)?.conditionClass ?? 0) > 0);
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
 * Findings of urgency 2 or 3 that no later visit looked at again. The newest word on a part counts; a part seen again
 * keeps the day it was first found urgent.
 * @param visits newest first
 */
export function openFindings(visits: readonly Visit[]): OpenFinding[] {
  const newest = new Map<string, OpenFinding | null>();
  const key = (one: Finding) => `${one.assembly}\n${one.part}`;
  for (const visit of visits) {
    for (const one of visit.findings) {
      const urgent = one.urgencyClass >= 2 && one.conditionClass > 0;
      const known = newest.get(key(one));
      if (known === undefined) {
        const open = { ...one, minutes: one.estimatedMinutes ?? 60, foundMs: visit.atMs };
        newest.set(key(one), urgent ? pick(open) : null);
      } else if (known && urgent) {
        newest.set(key(one), { ...known, foundMs: visit.atMs });
      }
    }
  }
  return [...newest.values()]
    .filter((one) => one !== null)
    .sort((a, b) => b.urgencyClass - a.urgencyClass || a.foundMs - b.foundMs);
}

const pick = (one: OpenFinding): OpenFinding => ({
  assembly: one.assembly,
  part: one.part,
  urgencyClass: one.urgencyClass,
  words: one.words,
  workProposed: one.workProposed,
  minutes: one.minutes,
  foundMs: one.foundMs,
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
