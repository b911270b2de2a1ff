import type { Class0to3 } from '../../contract/index.ts';
import { daysToSettle, outlookDays } from '../../drift/outlook.ts';
import type { PitchNow } from '../../drift/pitch-now.ts';
import { dayMs } from '../../series/board-run.ts';
import type { Situation } from '../situation.ts';
import { dayName, flatOrSharp, points, registerName } from '../wording.ts';
import type { Decision } from './rule.ts';

const beginAt = 0.8;
const stayAt = 0.6;
const heldDays = 3;
const returnAt = 0.5;

/** Common practice, no source: 1.5 h for a tuning, a pass more where much is to be corrected. */
const tuningMinutes = 90;
const extraPassMinutes = 25;
const extraPassOverCents = 8;

/** How many days in a row, up to now, the chance of being out of tolerance was at least so high. */
function daysHeld(pitch: PitchNow, chance: number): number {
  const first = pitch.past.findIndex((one) => (one.beyond ?? 0) < chance);
  return first < 0 ? pitch.past.length : first;
}

/** Out of tolerance, for days, and not about to come back by itself. */
export function pitchOut(situation: Situation, stale: boolean): Decision | null {
  const { pitch, tolerance, nowMs, instrument } = situation;
  if (!pitch || pitch.now.beyond === null || !pitch.now.worst || pitch.now.levelCents === null) return null;
  const held = daysHeld(pitch, beginAt);
  const staysOut = pitch.in21Days === null || (pitch.in21Days.beyond ?? 0) >= returnAt;
  const excess = Math.max(
    Math.abs(pitch.now.levelCents) / tolerance.levelCents,
    Math.abs(pitch.now.worst.cents) / (2 * tolerance.stepCents),
  );
  const severity: Class0to3 = excess >= 3 ? 3 : excess >= 1.7 ? 2 : 1;
  const settling = daysToSettle(situation.outlook);
  const { register, cents } = pitch.now.worst;
  const tuned = dayName(pitch.anchor.atMs, instrument.timeZone, nowMs);
  const change = pitch.moistureChangePct;
  return {
    rule: 'pitch-out',
    begins: pitch.now.beyond >= beginAt && held >= heldDays && staysOut,
    stays: pitch.now.beyond >= stayAt,
    stale,
    severity,
    sinceMs: nowMs - held * dayMs,
    what: `The ${registerName(register)} is about ${flatOrSharp(cents)}${staysOut ? ' and will stay there while the air stays as it is' : ''}.`,
    why: `The board has ${change < 0 ? 'dried' : 'taken up moisture'} by ${points(change)} since ${pitch.anchor.tuned ? 'the tuning' : 'the reading'} of ${tuned}.`,
    toDo:
      settling === 0
        ? 'Tune it; the board has settled.'
        : settling === null
          ? 'Wait: the board will still move for three weeks or more.'
          : `Wait until about ${dayName(nowMs + settling * dayMs, instrument.timeZone, nowMs)}: the board still moves, and a tuning now would be undone in part.`,
    notBeforeMs: settling === 0 ? null : nowMs + (settling ?? outlookDays) * dayMs,
    minutes: tuningMinutes + (Math.abs(pitch.now.levelCents) > extraPassOverCents ? extraPassMinutes : 0),
    evidence: {
      'chance out of tolerance now': pitch.now.beyond,
      'chance in 21 days, air as in the past week': pitch.in21Days?.beyond ?? null,
      'days in a row': held,
      'level, cents': pitch.now.levelCents,
      'tolerance of level, cents': tolerance.levelCents,
      'tolerance of a step, cents': tolerance.stepCents,
      'moisture change, %MC': change,
    },
  };
}
