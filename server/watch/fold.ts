/** Takes a course on by hours of air and board, asking the rules about air at every hour's end. Pure. */
import { type RuleName, rules, type Settings } from '../contract/index.ts';
import type { PlacedInstrument } from '../registry/instruments.ts';
import type { Air } from '../science/index.ts';
import { type BoardCourse, dayOf } from '../series/board-run.ts';
import { hourMs } from '../series/climate.ts';
import { type Condition, never, stepCondition } from './condition.ts';
import { type Course, takeHour } from './course.ts';
import type { Outlook } from './outlook.ts';
import { airRules, otherRules } from './rules/instrument-rules.ts';
import type { Rule } from './rules/rule.ts';
import { type Situation, situationOf } from './situation.ts';

const recordRules = otherRules.filter((rule) => rule.basis === 'records');

export interface Watched {
  readonly instrument: PlacedInstrument;
  readonly settings: Settings;
  readonly outlook: Outlook | null;
}

const switches = Object.fromEntries(rules.map((rule) => [rule, `watch ${rule}`])) as {
  readonly [Rule in RuleName]: `watch ${Rule}`;
};
export const isWatched = (rule: RuleName, settings: Settings): boolean => settings[switches[rule]] > 0;

/** The conditions of some rules after a stretch of time; the same object where nothing changed. */
export function askRules(
  rules: readonly Rule[],
  situation: Situation,
  fromMs: number,
  toMs: number,
): Course['conditions'] {
  const before = situation.course.conditions;
  let after: Partial<Record<RuleName, Condition>> | null = null;
  for (const rule of rules) {
    const held = before[rule.name] ?? never;
    const next = isWatched(rule.name, situation.settings)
      ? stepCondition(held, rule.measure(situation), fromMs, toMs, rule.durations(situation))
      : never;
    if (next === held) continue;
    after ??= { ...before };
    if (next === never) delete after[rule.name];
    else after[rule.name] = next;
  }
  return after ?? before;
}

/**
 * @param air at the piano, one entry an hour from the course's end on; `board` likewise
 * @param onDay told the course at the start of each UTC day: what late readings recompute from
 */
export function foldHours(
  watched: Watched,
  course: Course,
  air: readonly Air[],
  board: BoardCourse,
  onDay?: (day: number, course: Course) => void,
): Course {
  let now = course;
  air.forEach((hour, i) => {
    if (onDay && dayOf(now.atMs) !== dayOf(now.atMs - hourMs)) onDay(dayOf(now.atMs), now);
    const moisturePct = board.moisturePct[i] ?? now.moisturePct;
    const referencePct = board.referencePct[i] ?? now.referencePct;
    const next = takeHour(now, { air: hour, moisturePct, referencePct });
    const situation = situationOf(watched.instrument, watched.settings, next, watched.outlook, next.atMs);
    const conditions = askRules(airRules, situation, now.atMs, next.atMs);
    now = conditions === next.conditions ? next : { ...next, conditions };
  });
  return now;
}

/** The rules that rest on the daily look and on records, asked now. @param frozen rest on sensors that cannot be heard */
export function askNow(situation: Situation, frozen: boolean): Situation {
  const { course, nowMs } = situation;
  const conditions = askRules(frozen ? recordRules : otherRules, situation, nowMs, nowMs);
  return conditions === course.conditions ? situation : { ...situation, course: { ...course, conditions } };
}
