/** The sentence an instrument's page opens with: what is true, and what to do. A pure function of notices and situation. */
import { type Advice, type Class0to3, type Notice, rules } from '../contract/index.ts';
import { cautions } from './cautions.ts';
import type { Situation } from './situation.ts';
import { dayName, flatOrSharp, percent, points, registerName } from './wording.ts';

/** What a person must be careful of when doing what a rule proposes. */
export function cautionsFor(rule: Notice['rule']): string[] {
  switch (rule) {
    case 'pitch-out':
    case 'unisons-out':
      return [cautions.strings];
    case 'board-dry':
    case 'pins-dry':
      return [cautions.mains, cautions.frost];
    case 'board-wet':
    case 'swing':
    case 'action-wet':
    case 'control-lost':
      return [cautions.mains];
    case 'rust':
      return [cautions.mains, cautions.strings];
    case 'mould':
      return [cautions.mould, cautions.mains];
    case 'sweat':
    case 'finding-open':
      return [cautions.heavy];
    case 'frost-ahead':
      return [cautions.frost, cautions.mains];
    default:
      return [];
  }
}

/** Notices in the order they matter: what may break first, then what is heard, then what is unknown. */
export function byWeight(notices: readonly Notice[]): Notice[] {
  const weight = (notice: Notice) => notice.severity * 100 - rules.indexOf(notice.rule);
  return notices.filter((one) => one.state !== 'over').sort((a, b) => weight(b) - weight(a));
}

/** @param frozen why nothing new can be said, as the end of a sentence; null: its air is heard and trusted. */
export function adviceFor(situation: Situation, notices: readonly Notice[], frozen: string | null): Advice {
  const open = byWeight(notices);
  const [first, ...others] = open;
  if (!first) return { urgency: 0, urgent: false, cautions: [], ...quiet(situation, frozen) };
  const also = others.length > 0 ? ` Besides: ${lowerFirst(others.map((one) => one.what).join(' '))}` : '';
  const since =
    first.state === 'frozen' && first.frozenBecause
      ? ` Said while it was known; now ${first.frozenBecause}.`
      : '';
  return {
    urgency: first.severity,
    urgent: isUrgent(first),
    sentence: `${first.what} ${first.why}${also}${since}`,
    toDo: [first.toDo, ...others.map((one) => one.toDo)].filter(unique).join(' '),
    cautions: open.flatMap((one) => cautionsFor(one.rule)).filter(unique),
  };
}

/** What may cost a board, or rust strings within hours: told at once, whoever waits for a digest. */
export const isUrgent = (notice: { rule: Notice['rule']; severity: Class0to3 }): boolean =>
  ((notice.rule === 'board-dry' || notice.rule === 'board-wet') && notice.severity >= 2) ||
  notice.rule === 'sweat';

const unique = (one: string, i: number, all: readonly string[]): boolean => all.indexOf(one) === i;
const lowerFirst = (sentence: string): string => sentence.charAt(0).toLowerCase() + sentence.slice(1);

/** Nothing was ever heard of its air: is that for want of a sensor, or of its word? */
export const adviceWithoutAir = (placed: boolean): Advice => ({
  urgency: 0,
  urgent: false,
  cautions: [],
  sentence: placed
    ? 'Its sensor has not said anything yet, so nothing is known of the board.'
    : 'No sensor stands in its room or inside it, so nothing is known of the board.',
  toDo: placed ? 'See that the sensor sends.' : 'Place a sensor in its room or inside it.',
});

/** No notice is open: nothing is wrong, nothing is known, or it is not wrong for long enough. It is said which. */
function quiet(
  { outlook, course, instrument, settings, nowMs }: Situation,
  frozen: string | null,
): { sentence: string; toDo: string } {
  if (course.moisturePct === null) return adviceWithoutAir(true);
  const board = `The board stands at ${percent(course.moisturePct, 1)} moisture`;
  const pitch = outlook?.pitch;
  if (!pitch) {
    const tooEarly = outlook?.pitchMissing === 'tuned before the first reading';
    return {
      sentence: tooEarly
        ? `${board}. It was last tuned before the first reading, so its pitch can be said from the next tuning on.`
        : `${board}. No tuning is recorded yet, so its pitch cannot be said.`,
      toDo: 'Record the next tuning, or an A4 heard in passing.',
    };
  }
  const { register, cents } = pitch.worst;
  const since = dayName(pitch.anchorMs, instrument.timeZone, nowMs);
  const moved =
    Math.abs(pitch.moistureChangePct) < 0.05
      ? 'has hardly changed'
      : `has ${pitch.moistureChangePct < 0 ? 'dried' : 'taken up moisture'} by ${points(pitch.moistureChangePct)}`;
  const told = `the whole is ${flatOrSharp(pitch.levelCents)}, the ${registerName(register)}, farthest off, ${flatOrSharp(cents)}. The board ${moved} since ${since}.`;
  if (frozen !== null) {
    return {
      sentence: `Nothing new can be said: ${frozen}. By what was known last, ${told}`,
      toDo: 'See to its sensor; an A4 heard in passing would help meanwhile.',
    };
  }
  if (pitch.beyond < 0.5) {
    const within = pitch.beyond < 0.2 ? 'Within tolerance' : 'Likely within tolerance';
    return { sentence: `${within}: ${told}`, toDo: 'Nothing to do.' };
  }
  if (pitch.beyond < settings['pitch begins']) {
    return { sentence: `Near the edge of tolerance: ${told}`, toDo: 'Nothing to do.' };
  }
  if (pitch.later !== null && pitch.later < settings['pitch stays']) {
    return {
      sentence: `Out of tolerance for now: ${told}`,
      toDo:
        outlook?.comingBy === 'forecast'
          ? 'Wait: by the forecast of its air it is likely to come back within three weeks.'
          : 'Wait: it comes back within three weeks if the air stays as it is.',
    };
  }
  return {
    sentence: `Out of tolerance since a day or two: ${told}`,
    toDo: 'Nothing yet; if it stays so, a tuning will be asked for.',
  };
}
