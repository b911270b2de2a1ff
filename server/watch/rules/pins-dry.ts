import { isMeasured, meanOver } from '../course.ts';
import { ownLowPct, pinblockPct } from '../pinblock.ts';
import type { Situation } from '../situation.ts';
import { percent } from '../wording.ts';
import { afterHours, type Rule, type Words } from './rule.ts';

/** Without a past of its own the air of two weeks must do. */
const airHours = 336;
/**
 * What the last torque says of how far the block may dry: pins that held firmly were safe at its own low and a little
 * below; marginal or failing ones let go before it (classes in N·m: common practice; allowances: proposals).
 */
const torqueClasses = [
  { atMostNm: 3.4, beforeLowPct: 0.6, airPct: 8 },
  { atMostNm: 5.6, beforeLowPct: 0.3, airPct: 4 },
  { atMostNm: Number.POSITIVE_INFINITY, beforeLowPct: -0.3, airPct: 0 },
] as const;
const unmeasured = { beforeLowPct: -0.15, airPct: 0 };
/** Points of moisture above the limit at which it is over. */
const endPct = 0.3;

const classOf = ({ outlook }: Situation) => {
  const torqueNm = outlook?.lastTorqueNm ?? null;
  return torqueNm === null
    ? unmeasured
    : (torqueClasses.find((one) => torqueNm <= one.atMostNm) ?? unmeasured);
};
const isWeak = (situation: Situation): boolean => classOf(situation).airPct > 0;

/** The block against its own low; null where no past of its own is known. */
function byBlock(situation: Situation) {
  const { pinblock } = situation.course;
  const [pct, lowPct] = [pinblockPct(pinblock), ownLowPct(pinblock)];
  return pct === null || lowPct === null
    ? null
    : { pct, lowPct, limitPct: lowPct + classOf(situation).beforeLowPct };
}

/** The pinblock has dried so far that pins may slip. */
export const pinsDry: Rule = {
  name: 'pins-dry',
  basis: 'air',
  durations: () => afterHours(24, 72),
  measure(situation) {
    const { course, settings } = situation;
    if (!isMeasured(course)) return null;
    const block = byBlock(situation);
    if (block) return { over: block.pct < block.limitPct, quiet: block.pct > block.limitPct + endPct };
    const mean = meanOver(course, airHours);
    if (mean === null) return null;
    const raised = classOf(situation).airPct;
    return { over: mean < settings['pins begin'] + raised, quiet: mean > settings['pins end'] + raised };
  },
  severity: (situation) => (isWeak(situation) ? 2 : 1),
  say(situation): Words {
    const { course, outlook, settings } = situation;
    const torqueNm = outlook?.lastTorqueNm ?? null;
    const block = byBlock(situation);
    const mean = meanOver(course, airHours);
    const below = block && block.pct < block.lowPct ? 'below' : 'close to';
    return {
      what: block
        ? `Its pinblock has dried to ${percent(block.pct, 1)} moisture, ${below} the ${percent(block.lowPct, 1)} of its driest season so far: tuning pins may loosen.`
        : `Two weeks of air at the piano average ${percent(mean ?? 0)}: tuning pins may loosen.`,
      why:
        torqueNm !== null && isWeak(situation)
          ? `Their torque was ${torqueNm.toFixed(1)}\u00a0N·m when last measured, and pins slip first on the driest days.`
          : 'A dry pinblock grips its pins less; they slip first on the driest days.',
      toDo: 'Raise the humidity by at most 5 points a day; check the torque of the pins, bass first, at the next visit.',
      toVenue:
        'The air at this piano has been very dry for weeks: raise the humidity of the room by at most 5 points a day, and only as far as the windows stay dry.',
      toClient: 'The air around your piano has been very dry for weeks.',
      notBeforeMs: null,
      minutes: 30,
      evidence: {
        ...(block
          ? { 'pinblock moisture, %': block.pct, 'its own low, %': block.lowPct, 'limit, %': block.limitPct }
          : { 'limit, %RH': settings['pins begin'] + classOf(situation).airPct }),
        'mean of 14 days, %RH': mean,
        'last torque, N·m': torqueNm,
      },
    };
  },
};
