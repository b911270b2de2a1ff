import type { Class0to3 } from '../../contract/index.ts';
import { outlookDays } from '../../drift/outlook.ts';
import { dayMs } from '../../series/board-run.ts';
import type { Situation } from '../situation.ts';
import { dayName, flatOrSharp, points, registerName } from '../wording.ts';
import { atOnce, type Rule } from './rule.ts';

/** Common practice, no source: a pass more where much is to be corrected. */
const extraPassMinutes = 25;
const extraPassOverCents = 8;
/** Waiting has an end (design): the board may still move, but three weeks out of tune are enough. */
const longestWaitDays = 21;

/** Unisons ask too, and will not come back by themselves: nothing that the pitch does excuses them. */
const unisonsAsk = ({ outlook, settings }: Situation): boolean =>
  (outlook?.unisons?.beyond ?? 0) >= settings['unisons begin'];

/** When to tune: on the day the forecast gains most by waiting for, or once the board has settled; never past an event that needs the piano. */
function waitUntil(situation: Situation): number | null {
  const { outlook, nowMs } = situation;
  if (!outlook || unisonsAsk(situation)) return null;
  const settled = outlook.settling ? nowMs + (outlook.settlesInDays ?? outlookDays) * dayMs : null;
  const untilMs = outlook.wait?.untilMs ?? settled;
  if (untilMs === null) return null;
  const event = outlook.events[0]?.tuneMs ?? Number.POSITIVE_INFINITY;
  return Math.max(nowMs, Math.min(untilMs, nowMs + longestWaitDays * dayMs, event));
}

/** Will it stay out? Where nothing is known of the coming weeks, it may. */
const staysOut = ({ outlook, settings }: Situation): boolean => {
  const later = outlook?.pitch?.later ?? null;
  return later === null || later >= settings['pitch stays'];
};

/** Out of tolerance, for days, and not about to come back by itself; or the unisons ask as well, and one visit settles both. */
export function pitchAsks(situation: Situation): boolean {
  const { outlook, settings } = situation;
  const pitch = outlook?.pitch;
  if (!pitch) return false;
  const stays = staysOut(situation) || unisonsAsk(situation);
  return pitch.beyond >= settings['pitch begins'] && pitch.heldDays >= settings['pitch days'] && stays;
}

/** Whether the notice of the pitch speaks now, begun or as before: it tells of the unisons too. */
export function pitchSpeaks(situation: Situation): boolean {
  const { outlook, settings, course } = situation;
  if (settings['watch pitch-out'] === 0) return false;
  const held = course.conditions['pitch-out']?.holds === true;
  return pitchAsks(situation) || (held && (outlook?.pitch?.beyond ?? 0) >= settings['pitch ends']);
}

export const pitchOut: Rule = {
  name: 'pitch-out',
  basis: 'outlook',
  // How long it has lasted is in the outlook, from the board's own past: an import or a restart starts no clock anew.
  durations: () => atOnce,
  measure(situation) {
    const pitch = situation.outlook?.pitch;
    if (!pitch) return { over: false, quiet: true };
    return { over: pitchAsks(situation), quiet: pitch.beyond < situation.settings['pitch ends'] };
  },
  severity({ outlook }): Class0to3 {
    const pitch = outlook?.pitch;
    if (!pitch) return 1;
    const excess = Math.max(
      Math.abs(pitch.levelCents) / outlook.tolerance.levelCents,
      Math.abs(pitch.worst.cents) / (2 * outlook.tolerance.stepCents),
    );
    return excess >= 3 ? 3 : excess >= 1.7 ? 2 : 1;
  },
  say(situation) {
    const { outlook, instrument, nowMs } = situation;
    const pitch = outlook?.pitch;
    if (!pitch) throw new Error('pitch-out speaks only while the pitch is known');
    const waitMs = waitUntil(situation);
    const change = pitch.moistureChangePct;
    const foretold = outlook.comingBy === 'forecast';
    const stays = foretold
      ? ', and is foretold to stay out'
      : ' and will stay there while the air stays as it is';
    const tuned = dayName(pitch.anchorMs, instrument.timeZone, nowMs);
    const unisons =
      outlook.unisons && unisonsAsk(situation)
        ? ` Its unisons are about ${outlook.unisons.spreadCents.toFixed(1)}\u00a0cents wide, and do not come back.`
        : '';
    const until = waitMs === null ? '' : dayName(waitMs, instrument.timeZone, nowMs);
    return {
      what: `The ${registerName(pitch.worst.register)} is about ${flatOrSharp(pitch.worst.cents)}${staysOut(situation) ? stays : ', and is expected to come back'}.${unisons}`,
      why: `The board has ${change < 0 ? 'dried' : 'taken up moisture'} by ${points(change)} since ${pitch.tuned ? 'the tuning' : 'the reading'} of ${tuned}.`,
      toDo:
        waitMs === null
          ? outlook.settling
            ? 'Tune it: the board still moves, but its unisons will not come back by themselves.'
            : 'Tune it; the board has settled.'
          : outlook.wait
            ? `Wait until about ${until}. ${outlook.wait.why}`
            : outlook.settlesInDays === null
              ? `Wait until about ${until}: the board will still move for three weeks or more.`
              : `Wait until about ${until}: the board still moves, and a tuning now would be undone in part.`,
      toVenue: 'This piano has gone out of tune with the season; its technician plans a tuning.',
      toClient: 'Your piano has gone out of tune with the season; your technician will offer a date.',
      notBeforeMs: waitMs,
      minutes:
        outlook.tuningMinutes + (Math.abs(pitch.levelCents) > extraPassOverCents ? extraPassMinutes : 0),
      evidence: {
        'chance out of tolerance now': pitch.beyond,
        [`chance in 21 days, ${foretold ? 'as foretold' : 'air as in the past week'}`]: pitch.later,
        'days in a row': pitch.heldDays,
        'level, cents': pitch.levelCents,
        'tolerance of level, cents': outlook.tolerance.levelCents,
        'tolerance of a step, cents': outlook.tolerance.stepCents,
        'moisture change, %MC': change,
        'pitch and unisons together, by the forecast': outlook.decision?.because ?? null,
      },
    };
  },
};
