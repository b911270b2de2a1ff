import { pitchSpeaks } from './pitch-out.ts';
import { atOnce, type Rule } from './rule.ts';

/**
 * Unisons wider than its use allows: a pitch that comes back does not excuse them. Where the pitch asks for a tuning as
 * well, that rule tells of both, since one visit settles both; the notice that is open goes on by it (`notice-life.ts`).
 */
export const unisonsOut: Rule = {
  name: 'unisons-out',
  basis: 'outlook',
  durations: () => atOnce,
  measure(situation) {
    const { outlook, settings } = situation;
    const unisons = outlook?.unisons;
    if (!unisons) return null;
    const told = pitchSpeaks(situation);
    return {
      over: unisons.beyond >= settings['unisons begin'] && !told,
      quiet: unisons.beyond < settings['unisons end'] || told,
    };
  },
  severity: ({ outlook }) =>
    (outlook?.unisons?.spreadCents ?? 0) > 2 * (outlook?.tolerance.unisonCents ?? Number.POSITIVE_INFINITY)
      ? 2
      : 1,
  say({ outlook }) {
    const spread = outlook?.unisons?.spreadCents ?? 0;
    const allowed = outlook?.tolerance.unisonCents ?? 0;
    return {
      what: outlook?.unisons
        ? `Its unisons are about ${spread.toFixed(1)}\u00a0cents wide where its use allows ${allowed.toFixed(1)}.`
        : 'Its unisons were wider than its use allows when that was last known.',
      why: 'Strings stick and slip at the bridge as the board moves, and what has spread does not come back by itself.',
      toDo: 'Tune the unisons; a whole tuning only where the pitch asks for it too.',
      toVenue: 'The unisons of this piano have spread; its technician plans a tuning.',
      toClient: 'Your piano has begun to sound unclean; your technician will offer a date.',
      notBeforeMs: null,
      minutes: Math.round((outlook?.tuningMinutes ?? 90) * 0.6),
      evidence: {
        'unison spread, cents': spread,
        'tolerance of unisons, cents': allowed,
        'chance beyond it': outlook?.unisons?.beyond ?? null,
        'pitch and unisons together, by the forecast': outlook?.decision?.because ?? null,
      },
    };
  },
};
