import { atOnce, type Rule } from './rule.ts';

/** Unisons wider than its use allows, said apart from pitch: a pitch that comes back does not excuse them. */
export const unisonsOut: Rule = {
  name: 'unisons-out',
  basis: 'outlook',
  durations: () => atOnce,
  measure({ outlook, settings }) {
    const unisons = outlook?.unisons;
    if (!unisons) return null;
    return {
      over: unisons.beyond >= settings['unisons begin'],
      quiet: unisons.beyond < settings['unisons end'],
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
      what: `Its unisons are about ${spread.toFixed(1)}\u00a0cents wide where its use allows ${allowed.toFixed(1)}.`,
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
      },
    };
  },
};
