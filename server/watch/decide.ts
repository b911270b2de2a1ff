/** From conditions to decisions: what holds, what is frozen, how grave it is, and the words should they be needed. Pure. */
import { never } from './condition.ts';
import type { Course } from './course.ts';
import { askNow, isWatched, type Watched } from './fold.ts';
import { instrumentRules } from './rules/instrument-rules.ts';
import type { Decision, Rule } from './rules/rule.ts';
import { type Situation, situationOf } from './situation.ts';
import { hasPassed, span } from './wording.ts';

/** Air older than this is stale: what rests on it neither begins nor ends. */
export const staleAfterMs = 6 * 3_600_000;

export interface Verdict {
  /** With the conditions of the rules that were asked now. */
  readonly course: Course;
  readonly situation: Situation;
  /** Does any rule hold? Where none does and nothing is open, there is nothing to decide. */
  readonly holds: boolean;
  readonly decisions: () => Decision[];
  /** Why nothing new can be said, as the end of a sentence; null: its air is heard and trusted. */
  readonly frozen: string | null;
}

export interface Heard {
  /** A sensor it rests on is not to be trusted: the end of a sentence that says which and why. */
  readonly distrust: string | null;
  /** Readings came late and hours already judged were judged anew. */
  readonly late: boolean;
}

function frozenBecause(course: Course, distrust: string | null, nowMs: number): string | null {
  if (distrust !== null) return distrust;
  const silentMs = nowMs - course.atMs;
  return silentMs > staleAfterMs ? `nothing was heard of its air for ${span(silentMs)}` : null;
}

/** A tuning after the pitch was last judged out settles it, whether or not the air can be heard. */
function isTunedSince({ outlook, settings }: Watched, sinceMs: number | null): boolean {
  const pitch = outlook?.pitch;
  return Boolean(
    pitch?.tuned && sinceMs !== null && pitch.anchorMs > sinceMs && pitch.beyond < settings['pitch ends'],
  );
}

export function decide(watched: Watched, course: Course, heard: Heard, nowMs: number): Verdict {
  const frozen = frozenBecause(course, heard.distrust, nowMs);
  const since = course.conditions['pitch-out']?.sinceMs ?? null;
  const tuned = isTunedSince(watched, since);
  // A tuning lets the outlook speak even while the air cannot be heard.
  const { instrument, settings, outlook } = watched;
  const situation = askNow(
    situationOf(instrument, settings, course, outlook, nowMs),
    frozen !== null && !tuned,
  );
  const asked = situation.course;
  const decisions = () =>
    instrumentRules.map((rule): Decision => {
      const { holds, sinceMs } = asked.conditions[rule.name] ?? never;
      const rests = rule.basis === 'air' || (rule.basis === 'outlook' && !tuned);
      return {
        rule: rule.name,
        holds,
        sinceMs,
        frozen: rests && isWatched(rule.name, watched.settings) ? frozen : null,
        severity: holds ? rule.severity(situation) : 0,
        endedBecause: endReason(rule, watched, heard.late),
        words: () => rule.say(situation, sinceMs ?? nowMs),
      };
    });
  const holds = Object.values(asked.conditions).some((one) => one.holds);
  return { course: asked, situation, holds, decisions, frozen };
}

/** It was moved to where nothing measures: what rests on its air is neither over nor new. */
export const unmeasured: readonly Decision[] = instrumentRules
  .filter((rule) => rule.basis !== 'records')
  .map((rule) => ({
    rule: rule.name,
    holds: false,
    sinceMs: null,
    frozen: 'nothing measures its air where it stands now',
    severity: 0,
    endedBecause: '',
    words: () => {
      throw new Error('nothing new is said of air that nobody measures');
    },
  }));

function endReason(rule: Rule, { settings, outlook }: Watched, late: boolean): string {
  if (!isWatched(rule.name, settings)) return 'it is no longer watched for';
  if (late && rule.basis === 'air') return 'readings that came late show it otherwise';
  if (rule.name === 'pitch-out' && outlook?.pitch?.tuned && outlook.pitch.heldDays === 0)
    return 'it was tuned, or came back';
  return hasPassed;
}
