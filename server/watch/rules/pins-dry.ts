import { isMeasured, meanOver } from '../course.ts';
import type { Situation } from '../situation.ts';
import { percent } from '../wording.ts';
import { afterHours, type Rule } from './rule.ts';

/** Two weeks: a pinblock comes half way in 3 to 10 weeks, its pins' own neighbourhood sooner. */
const hours = 336;
/** Pins measured as marginal or failing let go earlier (classes: common practice; points: proposal). */
const marginalNm = 5.6;
const failingNm = 3.4;

/** Points by which the limit is raised for what was measured last. */
function weakness({ outlook }: Situation): number {
  const torqueNm = outlook?.lastTorqueNm ?? null;
  if (torqueNm === null) return 0;
  return torqueNm <= failingNm ? 8 : torqueNm < marginalNm ? 4 : 0;
}

/** The pinblock has dried so far that pins may slip. */
export const pinsDry: Rule = {
  name: 'pins-dry',
  basis: 'air',
  durations: () => afterHours(24, 72),
  measure(situation) {
    const { course, settings } = situation;
    const mean = isMeasured(course) ? meanOver(course, hours) : null;
    if (mean === null) return null;
    const raised = weakness(situation);
    return { over: mean < settings['pins begin'] + raised, quiet: mean > settings['pins end'] + raised };
  },
  severity: (situation) => (weakness(situation) > 0 ? 2 : 1),
  say(situation) {
    const { course, outlook, settings } = situation;
    const torqueNm = outlook?.lastTorqueNm ?? null;
    return {
      what: `Two weeks of air at the piano average ${percent(meanOver(course, hours) ?? 0)}: tuning pins may loosen.`,
      why:
        torqueNm !== null && torqueNm < marginalNm
          ? `Their torque was ${torqueNm.toFixed(1)}\u00a0N·m when last measured, and pins slip first on the driest days.`
          : 'A dry pinblock grips its pins less; they slip first on the driest days.',
      toDo: 'Raise the humidity by at most 5 points a day; check the torque of the pins, bass first, at the next visit.',
      toVenue:
        'The air at this piano has been very dry for two weeks: raise the humidity of the room by at most 5 points a day, and only as far as the windows stay dry.',
      toClient: 'The air around your piano has been very dry for two weeks.',
      notBeforeMs: null,
      minutes: 30,
      evidence: {
        'mean of 14 days, %RH': meanOver(course, hours),
        'limit, %RH': settings['pins begin'] + weakness(situation),
        'last torque, N·m': torqueNm,
      },
    };
  },
};
