/** Undo everywhere: the drafts before, newest last, each with what was done after it. */
import type { SheetDraft } from './draft.ts';

export interface Step {
  readonly draft: SheetDraft;
  readonly what: string;
  readonly field: string;
}

const most = 100;

/** Letters typed into one field are one step. */
export function remember(steps: readonly Step[], step: Step): Step[] {
  const last = steps.at(-1);
  if (last && step.field !== '' && last.field === step.field) return [...steps];
  return [...steps, step].slice(-most);
}
