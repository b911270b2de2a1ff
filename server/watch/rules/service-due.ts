import type { Use } from '../../contract/index.ts';
import { dayMs } from '../../series/board-run.ts';
import type { Situation } from '../situation.ts';
import { dayName } from '../wording.ts';
import { atOnce, type Rule } from './rule.ts';

/** Tunings a year by use (common practice; concert grands are tuned by their events on top). */
const usualTunings: Record<Use, number> = { concert: 4, studio: 4, practice: 3, worship: 3, home: 2 };
const yearDays = 365.25;

export const tuningsAYear = ({ settings, instrument }: Pick<Situation, 'settings' | 'instrument'>): number =>
  settings['tunings a year'] || usualTunings[instrument.use];

interface Due {
  readonly kind: 'tuning' | 'inspection';
  readonly lastMs: number;
  readonly dueMs: number;
}

/** What is due first; null while no visit of the kind is on record: the watch does not count from nothing. */
function due(situation: Situation): Due | null {
  const { outlook, settings } = situation;
  const inspections = settings['inspections a year'];
  const all: Due[] = [];
  if (outlook?.lastTunedMs) {
    const dueMs = outlook.lastTunedMs + (yearDays / tuningsAYear(situation)) * dayMs;
    all.push({ kind: 'tuning', lastMs: outlook.lastTunedMs, dueMs });
  }
  if (outlook?.lastInspectedMs && inspections > 0) {
    const dueMs = outlook.lastInspectedMs + (yearDays / inspections) * dayMs;
    all.push({ kind: 'inspection', lastMs: outlook.lastInspectedMs, dueMs });
  }
  return all.sort((a, b) => a.dueMs - b.dueMs)[0] ?? null;
}

/** The interval for its use has passed. Quiet while the pitch itself already asks: one visit, one word. */
export const serviceDue: Rule = {
  name: 'service-due',
  basis: 'records',
  durations: () => atOnce,
  measure(situation) {
    const next = due(situation);
    const asked = situation.course.conditions['pitch-out']?.holds && next?.kind === 'tuning';
    const late = next !== null && situation.nowMs >= next.dueMs;
    return { over: late && !asked, quiet: !late };
  },
  severity: () => 0,
  say(situation) {
    const next = due(situation);
    if (!next) throw new Error('service-due speaks only of a service on record');
    const { instrument, nowMs } = situation;
    return {
      what: `Its ${next.kind} is due: the last was on ${dayName(next.lastMs, instrument.timeZone, nowMs)}.`,
      why: `For its use one is usual every ${Math.round((next.dueMs - next.lastMs) / (30.44 * dayMs))} months.`,
      toDo: `Plan the ${next.kind} with the next round.`,
      toVenue: '',
      toClient: `It is time for the ${next.kind} of your piano; your technician will offer a date.`,
      notBeforeMs: null,
      minutes: next.kind === 'tuning' ? (situation.outlook?.tuningMinutes ?? 90) : 75,
      evidence: { service: next.kind, 'days since the last': Math.round((nowMs - next.lastMs) / dayMs) },
    };
  },
};

export const isInspectionDue = (situation: Situation): boolean => due(situation)?.kind === 'inspection';
