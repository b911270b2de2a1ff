/**
 * A rule is a pure function of what is known and the time. It says whether a notice may begin and whether an open one
 * stays, by different thresholds, so that a value hovering at a limit cannot flap; and it always says why.
 */
import type { Class0to3, Notice } from '../../contract/index.ts';

export type RuleName = Notice['rule'];

export interface Decision {
  readonly rule: RuleName;
  /** Strong enough, and for long enough, to begin a notice. */
  readonly begins: boolean;
  /** Strong enough for an open notice to stay open. */
  readonly stays: boolean;
  /** What the rule rests on has gone stale: nothing begins and nothing ends. */
  readonly stale: boolean;
  readonly severity: Class0to3;
  /** Since when the condition has held, where it does. */
  readonly sinceMs: number;
  readonly what: string;
  readonly why: string;
  readonly toDo: string;
  /** Hands are wiser to wait until then; null: any time. */
  readonly notBeforeMs: number | null;
  /** Usual minutes at the instrument for what is proposed (common practice, no source). */
  readonly minutes: number;
  readonly evidence: Notice['evidence'];
}
