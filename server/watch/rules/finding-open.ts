import { dayMs } from '../../series/board-run.ts';
import { dayName } from '../wording.ts';
import { atOnce, type Rule } from './rule.ts';

/** Who found it knows of it; the watch speaks when it is in danger of being forgotten (days; proposal). */
const remindAfterDays = { 2: 21, 3: 3 } as const;

export const findingOpen: Rule = {
  name: 'finding-open',
  basis: 'records',
  durations: () => atOnce,
  measure({ outlook, nowMs }) {
    const late = (outlook?.openFindings ?? []).some(
      (one) => nowMs - one.foundMs >= remindAfterDays[one.urgencyClass === 3 ? 3 : 2] * dayMs,
    );
    return { over: late, quiet: (outlook?.openFindings.length ?? 0) === 0 };
  },
  severity: ({ outlook }) => (outlook?.openFindings[0]?.urgencyClass === 3 ? 2 : 1),
  say({ outlook, instrument, nowMs }) {
    const [first, ...others] = outlook?.openFindings ?? [];
    if (!first) throw new Error('finding-open speaks only of a finding');
    const more = others.length === 0 ? '' : ` and ${others.length} more`;
    return {
      what: `Still to be done since ${dayName(first.foundMs, instrument.timeZone, nowMs)}: ${first.part || first.assembly}${more}.`,
      why: first.words || `It was given urgency ${first.urgencyClass} of 3.`,
      toDo: first.workProposed
        ? `${first.workProposed.replace(/\.$/, '')}.`
        : 'Plan the repair, or grade it anew.',
      toVenue: '',
      toClient: '',
      notBeforeMs: null,
      minutes: (outlook?.openFindings ?? []).reduce((sum, one) => sum + one.minutes, 0),
      evidence: { 'open findings': 1 + others.length, 'urgency class': first.urgencyClass },
    };
  },
};
