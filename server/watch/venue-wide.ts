/**
 * A cause that takes a whole venue (the heating came on, the gateway lost its power) is one notice with its members,
 * not forty. Pure: from what is open to what is to be gathered, joined or ended.
 */
import type { Class0to3, RuleName } from '../contract/index.ts';

/** What a house does to all its pianos, or its network to all its sensors. What concerns one piano alone stays alone. */
export const gathered: readonly RuleName[] = [
  'swing',
  'board-dry',
  'board-wet',
  'pins-dry',
  'action-wet',
  'rust',
  'sweat',
  'sensor-silent',
];

/** At least so many, and at least this share of what stands at the venue, within so long of one another (proposals). */
const least = 3;
const leastShare = 0.25;
const togetherMs = 72 * 3_600_000;
/** What begins later than this after the first is a matter of its own. */
const joinMs = 14 * 24 * 3_600_000;

export interface OpenOne {
  readonly id: string;
  readonly rule: RuleName;
  readonly venueId: string;
  readonly severity: Class0to3;
  readonly beganMs: number;
  readonly frozen: boolean;
  readonly partOf: string | null;
}

export interface OpenWhole {
  readonly id: string;
  readonly rule: RuleName;
  readonly venueId: string;
  readonly beganMs: number;
  readonly severity: Class0to3;
  readonly members: number;
}

export type Gathering =
  | {
      readonly kind: 'gather';
      readonly rule: RuleName;
      readonly venueId: string;
      /** What began together. */
      readonly wave: readonly OpenOne[];
      /** What is still open of an earlier wave, whose notice ends in favour of the new one: it is told anew. */
      readonly carried: readonly OpenOne[];
      readonly instead: OpenWhole | null;
    }
  | { readonly kind: 'join'; readonly whole: OpenWhole; readonly members: readonly OpenOne[] }
  | { readonly kind: 'over'; readonly whole: OpenWhole };

/** @param standing how many instruments (or, for sensors, sensors) stand at each venue */
export function gather(
  ones: readonly OpenOne[],
  wholes: readonly OpenWhole[],
  standing: (venueId: string, rule: RuleName) => number,
): Gathering[] {
  const steps: Gathering[] = [];
  const groups = new Map<string, OpenOne[]>();
  for (const one of ones) {
    if (!gathered.includes(one.rule)) continue;
    const key = `${one.rule} ${one.venueId}`;
    groups.set(key, [...(groups.get(key) ?? []), one]);
  }
  for (const [key, all] of groups) {
    const whole = wholes.find((one) => `${one.rule} ${one.venueId}` === key);
    const members = whole ? all.filter((one) => one.partOf === whole.id) : [];
    const joining = whole ? all.filter((one) => joins(one, whole)) : [];
    const [first] = all;
    if (!first) continue;
    const alone = all
      .filter((one) => one.partOf === null && !joining.includes(one))
      .sort((a, b) => a.beganMs - b.beganMs);
    const wave = densest(alone);
    if (wave.length >= Math.max(least, leastShare * standing(first.venueId, first.rule))) {
      const { rule, venueId } = first;
      const carried = whole ? [...members, ...joining] : [];
      steps.push({ kind: 'gather', rule, venueId, wave, carried, instead: whole ?? null });
    } else if (whole && joining.length > 0) {
      steps.push({ kind: 'join', whole, members: joining });
    }
  }
  for (const whole of wholes) {
    const open = groups.get(`${whole.rule} ${whole.venueId}`) ?? [];
    const goesOn = open.some((one) => one.partOf === whole.id || joins(one, whole));
    const replaced = steps.some((step) => step.kind === 'gather' && step.instead === whole);
    if (!goesOn && !replaced) steps.push({ kind: 'over', whole });
  }
  return steps;
}

const joins = (one: OpenOne, whole: OpenWhole): boolean =>
  one.partOf === null && one.beganMs - whole.beganMs <= joinMs && whole.beganMs - one.beganMs <= togetherMs;

/** The most that began within the time of one another; oldest first. */
function densest(sorted: readonly OpenOne[]): OpenOne[] {
  let best: OpenOne[] = [];
  sorted.forEach((one, i) => {
    const cluster = sorted.slice(i).filter((other) => other.beganMs - one.beganMs <= togetherMs);
    if (cluster.length > best.length) best = cluster;
  });
  return best;
}

const themes: Partial<
  Record<RuleName, { readonly subject: string; readonly what: string; readonly toDo: string }>
> = {
  swing: {
    subject: 'pianos',
    what: 'the humidity swung by more than they should bear',
    toDo: 'Look for one cause: heating that came on, ventilation that was changed, a window left open.',
  },
  'board-dry': {
    subject: 'pianos',
    what: 'the soundboard is pulled towards its dry limit',
    toDo: 'Raise the humidity of the house by at most 5 points a day, and only as far as the windows stay dry.',
  },
  'board-wet': {
    subject: 'pianos',
    what: 'the soundboard is pressed towards its wet limit',
    toDo: 'Lower the humidity of the house by at most 5 points a day.',
  },
  'pins-dry': {
    subject: 'pianos',
    what: 'two weeks of dry air may have loosened tuning pins',
    toDo: 'Raise the humidity of the house by at most 5 points a day; check torque on the next round.',
  },
  'action-wet': {
    subject: 'pianos',
    what: 'three days of damp air slow the action',
    toDo: 'Air the house when it is drier outside, or dehumidify.',
  },
  rust: {
    subject: 'pianos',
    what: 'the air has been damp enough for strings to rust',
    toDo: 'Air the house when it is drier outside, or dehumidify.',
  },
  sweat: {
    subject: 'pianos',
    what: 'water forms on strings and plate',
    toDo: 'Close the lids, warm the house slowly, and keep warm damp air out until it has warmed.',
  },
  'sensor-silent': {
    subject: 'sensors',
    what: 'nothing is heard',
    toDo: 'See first that the gateway of the house has power and network; then each sensor.',
  },
};

/** The sentences of a venue-wide notice. @param places of the members, as a person calls them */
export function wholeWords(rule: RuleName, places: readonly string[], all: number) {
  const theme = themes[rule] ?? { subject: 'pianos', what: 'the same was found', toDo: '' };
  const named = places.slice(0, 5).join('; ');
  const more = places.length > 5 ? ` and ${places.length - 5} more` : '';
  const from = rule === 'sensor-silent' ? 'From' : 'At';
  return {
    what: `${from} ${places.length} of ${all} ${theme.subject} ${theme.what}.`,
    why: `One cause is likely, since they began together: ${named}${more}.`,
    toDo: theme.toDo,
    toVenue: `${from} ${places.length} of ${all} ${theme.subject} of the house ${theme.what}. ${theme.toDo}`,
  };
}
