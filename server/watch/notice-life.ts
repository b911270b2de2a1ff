/**
 * The life of a notice: begins, may freeze while its data is stale, is over. A pure step from what is open and what
 * the rules decide now; each episode has its own id, and one that begins anew is a new notice.
 */
import type { Decision, RuleName } from './rules/rule.ts';

export interface OpenEpisode {
  readonly id: string;
  readonly rule: RuleName;
  readonly beganMs: number;
}

export type Step =
  | { readonly kind: 'begins'; readonly decision: Decision }
  | {
      readonly kind: 'goes on';
      readonly id: string;
      readonly state: 'open' | 'frozen';
      readonly decision: Decision;
    }
  | { readonly kind: 'freezes'; readonly id: string }
  | { readonly kind: 'over'; readonly id: string };

/**
 * @param asked the rules that were asked; an open episode of one of them without a decision has lost its ground
 *   (no tuning, no board) and is over, of any other rule is left alone.
 */
export function stepNotices(
  open: readonly OpenEpisode[],
  asked: readonly RuleName[],
  decisions: readonly Decision[],
): Step[] {
  const steps: Step[] = [];
  for (const rule of asked) {
    const episode = open.find((one) => one.rule === rule);
    const decision = decisions.find((one) => one.rule === rule);
    if (!decision) {
      if (episode) steps.push({ kind: 'over', id: episode.id });
    } else if (decision.stale) {
      // Stale data neither ends a notice nor begins one; its words stay as they were when something was known.
      if (episode) steps.push({ kind: 'freezes', id: episode.id });
    } else if (episode) {
      steps.push(
        decision.stays
          ? { kind: 'goes on', id: episode.id, state: 'open', decision }
          : { kind: 'over', id: episode.id },
      );
    } else if (decision.begins) {
      steps.push({ kind: 'begins', decision });
    }
  }
  return steps;
}
