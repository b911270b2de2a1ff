/**
 * A rule is two pure functions of what is known: how an hour (or a day, or now) stands to its thresholds, and what to
 * say while it holds. Durations, freezing and the life of a notice are the same for every rule and live elsewhere.
 */
import type { Class0to3, Notice, RuleName } from '../../contract/index.ts';
import type { Durations, Measure } from '../condition.ts';
import type { Situation } from '../situation.ts';

/** What is said while a rule holds: to the technician, to whoever looks after the rooms, to the client at home. */
export interface Words {
  readonly what: string;
  readonly why: string;
  readonly toDo: string;
  readonly toVenue: string;
  readonly toClient: string;
  /** Hands are wiser to wait until then; null: any time. */
  readonly notBeforeMs: number | null;
  /** Usual minutes at the instrument for what is proposed (common practice, no source); 0 where no visit is. */
  readonly minutes: number;
  readonly evidence: Notice['evidence'];
}

export interface Rule {
  readonly name: RuleName;
  /**
   * air: asked of every hour, frozen while the air is stale; outlook: asked when the daily look was renewed, frozen
   * likewise; records: asked whenever the clock ticks, rests on no sensor.
   */
  readonly basis: 'air' | 'outlook' | 'records';
  durations(situation: Situation): Durations;
  /** null: nothing can be said, so nothing changes. */
  measure(situation: Situation): Measure | null;
  severity(situation: Situation): Class0to3;
  say(situation: Situation, sinceMs: number): Words;
}

/** What the watch makes of one rule and one subject now. */
export interface Decision {
  readonly rule: RuleName;
  readonly holds: boolean;
  readonly sinceMs: number | null;
  /** Why nothing may begin or end now; null while what it rests on is fresh and trusted. */
  readonly frozen: string | null;
  readonly severity: Class0to3;
  /** Why it is over, should it be. */
  readonly endedBecause: string;
  /** Made only when something is to be said: sentences cost more than the decision. */
  words(): Words;
}

export const atOnce: Durations = { beginAfterMs: 0, endAfterMs: 0 };
const hourMs = 3_600_000;
export const afterHours = (begin: number, end: number): Durations => ({
  beginAfterMs: begin * hourMs,
  endAfterMs: end * hourMs,
});
