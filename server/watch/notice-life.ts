/**
 * The life of a notice: begins, freezes while what it rests on is stale or not to be trusted, is over. A pure step from
 * what is open and what the rules decide now; each episode has its own id, and one that begins anew is a new notice.
 */
import type { Class0to3, RuleName } from '../contract/index.ts';
import type { Decision } from './rules/rule.ts';

/** Rules that speak of one matter, which one visit settles: at most one of them holds, and a notice passes from one to another. */
const matters: readonly (readonly RuleName[])[] = [['unisons-out', 'pitch-out']];

export const isSameMatter = (a: RuleName, b: RuleName): boolean =>
  a === b || matters.some((rules) => rules.includes(a) && rules.includes(b));

export interface OpenEpisode {
  readonly id: string;
  readonly rule: RuleName;
  readonly severity: Class0to3;
  readonly frozen: boolean;
}

export type Step =
  | { readonly kind: 'begins'; readonly decision: Decision }
  | { readonly kind: 'goes on'; readonly id: string; readonly worse: boolean; readonly decision: Decision }
  /** The same matter, now by the rule of the decision. */
  | { readonly kind: 'becomes'; readonly id: string; readonly worse: boolean; readonly decision: Decision }
  | { readonly kind: 'freezes'; readonly id: string; readonly because: string; readonly decision: Decision }
  | { readonly kind: 'over'; readonly id: string; readonly because: string; readonly decision: Decision };

/** @param decisions one for each rule that was asked; an open episode of any other rule is left alone. */
export function stepNotices(open: readonly OpenEpisode[], decisions: readonly Decision[]): Step[] {
  const steps: Step[] = [];
  const heirs = open.length === 0 ? none : heirsOf(open, decisions);
  for (const decision of decisions) {
    const episode = open.length === 0 ? undefined : open.find((one) => one.rule === decision.rule);
    if (episode && heirs.has(episode)) continue;
    if (decision.frozen !== null) {
      // Neither ends nor begins; its words stay as they were when something was known.
      if (episode && !episode.frozen) {
        steps.push({ kind: 'freezes', id: episode.id, because: decision.frozen, decision });
      }
    } else if (episode && decision.holds) {
      const worse = decision.severity > episode.severity;
      steps.push({ kind: 'goes on', id: episode.id, worse, decision });
    } else if (episode) {
      steps.push({ kind: 'over', id: episode.id, because: decision.endedBecause, decision });
    } else if (decision.holds) {
      const before = [...heirs].find(([, heir]) => heir === decision)?.[0];
      if (!before) steps.push({ kind: 'begins', decision });
      else {
        const worse = decision.severity > before.severity;
        steps.push({ kind: 'becomes', id: before.id, worse, decision });
      }
    }
  }
  return steps;
}

type Heirs = ReadonlyMap<OpenEpisode, Decision>;
const none: Heirs = new Map();

/** Episodes that end where another rule of the same matter begins: they go on by that one instead. */
function heirsOf(open: readonly OpenEpisode[], decisions: readonly Decision[]): Heirs {
  const heirs = new Map<OpenEpisode, Decision>();
  const isOpen = (rule: RuleName) => open.some((one) => one.rule === rule);
  for (const decision of decisions) {
    if (!decision.holds || decision.frozen !== null || isOpen(decision.rule)) continue;
    const ends = ({ rule }: OpenEpisode) =>
      isSameMatter(rule, decision.rule) &&
      decisions.some((one) => one.rule === rule && !one.holds && one.frozen === null);
    const before = open.find((one) => ends(one) && !heirs.has(one));
    if (before) heirs.set(before, decision);
  }
  return heirs;
}
