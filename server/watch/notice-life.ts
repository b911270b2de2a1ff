/**
 * The life of a notice: begins, freezes while what it rests on is stale or not to be trusted, is over. A pure step from
 * what is open and what the rules decide now; each episode has its own id, and one that begins anew is a new notice.
 */
import type { Class0to3, RuleName } from '../contract/index.ts';
import type { Decision } from './rules/rule.ts';

export interface OpenEpisode {
  readonly id: string;
  readonly rule: RuleName;
  readonly severity: Class0to3;
  readonly frozen: boolean;
}

export type Step =
  | { readonly kind: 'begins'; readonly decision: Decision }
  | { readonly kind: 'goes on'; readonly id: string; readonly worse: boolean; readonly decision: Decision }
  | { readonly kind: 'freezes'; readonly id: string; readonly because: string; readonly decision: Decision }
  | { readonly kind: 'over'; readonly id: string; readonly because: string; readonly decision: Decision };

/** @param decisions one for each rule that was asked; an open episode of any other rule is left alone. */
export function stepNotices(open: readonly OpenEpisode[], decisions: readonly Decision[]): Step[] {
  const steps: Step[] = [];
  for (const decision of decisions) {
    const episode = open.length === 0 ? undefined : open.find((one) => one.rule === decision.rule);
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
      steps.push({ kind: 'begins', decision });
    }
  }
  return steps;
}
