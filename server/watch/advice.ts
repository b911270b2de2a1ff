/** The sentence an instrument's page opens with: what is true, and what to do. A pure function of notices and situation. */
import type { Advice, Class0to3, Notice } from '../contract/index.ts';
import { cautions } from './cautions.ts';
import { moistureNow, type Situation } from './situation.ts';
import { dayName, flatOrSharp, percent, points, registerName } from './wording.ts';

const order: readonly Notice['rule'][] = ['board-dry', 'board-wet', 'pitch-out', 'swing', 'sensor-silent'];

/** What a person must be careful of when doing what a rule proposes. */
export function cautionsFor(rule: Notice['rule']): string[] {
  if (rule === 'pitch-out') return [cautions.strings];
  if (rule === 'board-dry') return [cautions.mains, cautions.frost];
  if (rule === 'board-wet' || rule === 'swing') return [cautions.mains];
  return [];
}

/** Notices in the order they matter: what may break first, then what is heard, then what is unknown. */
export function byWeight(notices: readonly Notice[]): Notice[] {
  const weight = (notice: Notice) => notice.severity * 10 - order.indexOf(notice.rule);
  return notices.filter((one) => one.state !== 'over').sort((a, b) => weight(b) - weight(a));
}

export function adviceFor(situation: Situation, notices: readonly Notice[]): Advice {
  const open = byWeight(notices);
  const [first, ...others] = open;
  if (!first) return { urgency: 0, urgent: false, cautions: [], ...quiet(situation) };
  const also = others.length > 0 ? ` Besides: ${others.map((one) => lowerFirst(one.what)).join(' ')}` : '';
  return {
    urgency: first.severity,
    urgent: isUrgent(first),
    sentence: `${first.what} ${first.why}${also}`,
    toDo: [first.toDo, ...others.map((one) => one.toDo)].filter(unique).join(' '),
    cautions: open.flatMap((one) => cautionsFor(one.rule)).filter(unique),
  };
}

const isUrgent = (notice: { rule: Notice['rule']; severity: Class0to3 }): boolean =>
  (notice.rule === 'board-dry' || notice.rule === 'board-wet') && notice.severity >= 2;

const unique = (one: string, i: number, all: readonly string[]): boolean => all.indexOf(one) === i;
const lowerFirst = (sentence: string): string => sentence.charAt(0).toLowerCase() + sentence.slice(1);

/** Nothing is wrong, or nothing is known: both are said, and which. */
function quiet(situation: Situation): { sentence: string; toDo: string } {
  const { pitch, instrument, nowMs } = situation;
  const moisturePct = moistureNow(situation);
  if (moisturePct === null) {
    const placed = situation.sources.room.length + situation.sources.inside.length > 0;
    return {
      sentence: placed
        ? 'Its sensor has not said anything yet, so nothing is known of the board.'
        : 'No sensor stands in its room or inside it, so nothing is known of the board.',
      toDo: placed ? 'See that the sensor sends.' : 'Place a sensor in its room or inside it.',
    };
  }
  const board = `The board stands at ${percent(moisturePct, 1)} moisture`;
  if (!pitch?.now.worst) {
    const tooEarly = situation.pitchMissing === 'tuned before the first reading';
    return {
      sentence: tooEarly
        ? `${board}. It was last tuned before the first reading, so its pitch can be said from the next tuning on.`
        : `${board}. No tuning is recorded yet, so its pitch cannot be said.`,
      toDo: 'Record the next tuning, or an A4 heard in passing.',
    };
  }
  const { register, cents } = pitch.now.worst;
  const since = dayName(pitch.anchor.atMs, instrument.timeZone, nowMs);
  const moved =
    Math.abs(pitch.moistureChangePct) < 0.05
      ? 'has hardly changed'
      : `has ${pitch.moistureChangePct < 0 ? 'dried' : 'taken up moisture'} by ${points(pitch.moistureChangePct)}`;
  const standing = (pitch.now.beyond ?? 0) < 0.5 ? 'Within tolerance' : 'Near the edge of tolerance';
  const level = flatOrSharp(pitch.now.levelCents ?? 0);
  const sentence = `${standing}: the whole is ${level}, the ${registerName(register)}, farthest off, ${flatOrSharp(cents)}. The board ${moved} since ${since}.`;
  return { sentence, toDo: 'Nothing to do.' };
}
