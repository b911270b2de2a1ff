/** Calls: visits that are warranted. Each gathers what one kind of visit to one instrument or sensor would settle. */
import { createHash } from 'node:crypto';
import type { Call, Class0to3, Notice } from '../contract/index.ts';
import { dayMs } from '../series/board-run.ts';
import { cautionsFor } from './advice.ts';
import { dayName, odds, restsOn } from './wording.ts';

type Kind = Call['kind'];

/**
 * Which visit a notice asks for. What the venue can mend itself (a swing, a silent gateway, frost) asks for none at first; a
 * humidity control that stopped, a weak battery, air that swings time and again become calls only if that did not help.
 */
const kindOf: Partial<Record<Notice['rule'], Kind>> = {
  'pitch-out': 'tuning',
  'unisons-out': 'tuning',
  'board-dry': 'humidity control',
  'board-wet': 'humidity control',
  'action-wet': 'humidity control',
  'control-lost': 'humidity control',
  'pins-dry': 'repair',
  rust: 'repair',
  mould: 'inspection',
  'finding-open': 'repair',
  'service-due': 'tuning',
  'sensor-silent': 'sensor',
  'sensor-stuck': 'sensor',
  'sensor-off': 'sensor',
  'battery-low': 'sensor',
};

/** Kinds of visit that settle what a rule found; none where the venue settles it. */
export const visitsFor = (rule: Notice['rule']): readonly Kind[] =>
  rule === 'service-due' ? ['tuning', 'inspection'] : [kindOf[rule]].filter((one) => one !== undefined);

/** Days the venue has to mend it first. */
const venueFirstDays: Partial<Record<Notice['rule'], number>> = {
  'control-lost': 3,
  'sensor-silent': 1,
  'battery-low': 14,
};

/** Air that swung so often within so many days has been looked at by the venue in vain (proposal). */
export const swingsAgain = { times: 3, days: 90 } as const;
/** A look at what it has done to unisons, pins and centres (common practice, no source). */
const swingMinutes = 45;
const swungAgain =
  'It is at least the third time in three months: see what it has done to unisons, pins and centres, and find its cause with the house.';

/** Its gateway looked at, and each sensor in turn (common practice, no source). */
const gatewayMinutes = 30;

/** A house that is silent is gone to once, for its gateway; what its air does to pianos is seen to at each of them. */
function isToldElsewhere({ rule, instrumentId, sensorId, partOf }: Notice): boolean {
  const whole = instrumentId === null && sensorId === null;
  return rule === 'sensor-silent' ? partOf !== null : whole;
}

function minutesFor({ rule, minutes, sensorId }: Notice): number {
  if (rule === 'swing') return swingMinutes;
  return rule === 'sensor-silent' && sensorId === null ? gatewayMinutes : minutes;
}

function kindFor(notice: Notice, nowMs: number, swinging: ReadonlySet<string>): Kind | null {
  if (isToldElsewhere(notice)) return null;
  if (notice.rule === 'swing') return swinging.has(notice.instrumentId ?? '') ? 'inspection' : null;
  const firstDays = venueFirstDays[notice.rule] ?? 0;
  if (notice.state === 'over' || nowMs - notice.beganMs < firstDays * dayMs) return null;
  if (notice.rule === 'service-due' && notice.evidence.service === 'inspection') return 'inspection';
  return kindOf[notice.rule] ?? null;
}

/** How soon by urgency class: long term, intermediate, short term, immediate (proposal). */
const latestDays: Record<Class0to3, number | null> = { 0: 90, 1: 60, 2: 21, 3: 5 };

/** The same call keeps its id from one evaluation to the next. */
function callId(kind: Kind, subject: string): string {
  const hex = createHash('sha256').update(`${kind}\n${subject}`).digest('hex');
  return `${hex.slice(0, 8)}-${hex.slice(8, 12)}-8${hex.slice(13, 16)}-a${hex.slice(17, 20)}-${hex.slice(20, 32)}`;
}

/** What to have in the bag for a kind of visit (common practice, no source). */
const bagFor: Record<Kind, readonly string[]> = {
  tuning: ['tuning tools'],
  'humidity control': ['service parts for the humidity control', 'a reference hygrometer'],
  repair: ['torque wrench', 'strings and pins'],
  inspection: ['inspection lamp', 'feeler gauges', 'torque wrench'],
  sensor: ['batteries', 'a spare sensor'],
};

export interface OpenNotice {
  readonly notice: Notice;
  readonly venueName: string;
  readonly timeZone: string;
}

/** An event that needs a piano: its tuning is always a call. */
export interface EventTuning {
  readonly eventId: string;
  readonly eventName: string;
  readonly startMs: number;
  readonly tuneMs: number;
  readonly instrumentId: string;
  readonly place: string;
  readonly venueId: string;
  readonly venueName: string;
  readonly timeZone: string;
  readonly minutes: number;
  /** Chance of not holding until the event; null while it is too far off to say. */
  readonly unsteady: number | null;
  /** By the kept forecast, or by the air of late. */
  readonly foretold: boolean;
}

/** Events are looked at so far ahead. */
const eventDays = 35;

export function eventCalls(tunings: readonly EventTuning[], nowMs: number): Call[] {
  return tunings
    .filter((one) => one.startMs > nowMs && one.tuneMs - nowMs < eventDays * dayMs)
    .map((one) => {
      const day = dayName(one.startMs, one.timeZone, nowMs);
      const holds =
        one.unsteady === null
          ? ''
          : ` It holds until then in ${odds(1 - one.unsteady)}, ${restsOn(one.foretold)}.`;
      return {
        id: callId('tuning', `${one.eventId} ${one.instrumentId}`),
        kind: 'tuning',
        instrumentId: one.instrumentId,
        place: one.place,
        venueName: one.venueName,
        timeZone: one.timeZone,
        urgency: 2,
        why: `Tune it on ${dayName(Math.max(nowMs, one.tuneMs), one.timeZone, nowMs)} for ${one.eventName} on ${day}.${holds}`,
        earliestMs: Math.max(nowMs, one.tuneMs),
        latestMs: one.startMs,
        minutes: one.minutes,
        cautions: cautionsFor('pitch-out'),
        noticeIds: [],
        venueId: one.venueId,
        bring: [...bagFor.tuning],
        choice: null,
      };
    });
}

/**
 * @param swinging instruments whose air has swung time and again of late, as {@link swingsAgain} says
 * @returns most urgent first.
 */
export function callsFrom(
  open: readonly OpenNotice[],
  nowMs: number,
  swinging: ReadonlySet<string> = new Set(),
): Call[] {
  const groups = new Map<string, { kind: Kind; members: OpenNotice[] }>();
  for (const one of open) {
    const kind = kindFor(one.notice, nowMs, swinging);
    if (!kind || (one.notice.snoozedUntilMs ?? 0) > nowMs) continue;
    const id = callId(kind, one.notice.instrumentId ?? one.notice.sensorId ?? one.notice.id);
    const group = groups.get(id) ?? { kind, members: [] };
    group.members.push(one);
    groups.set(id, group);
  }
  const calls = [...groups].flatMap(([id, { kind, members }]): Call[] => {
    const [first] = members;
    if (!first) return [];
    const notices = members.map((one) => one.notice);
    const urgency = highest(notices);
    const days = latestDays[urgency];
    const earliestMs = Math.max(nowMs, ...notices.map((one) => one.notBeforeMs ?? 0));
    return [
      {
        id,
        kind,
        instrumentId: first.notice.instrumentId,
        place: first.notice.place,
        venueName: first.venueName,
        timeZone: first.timeZone,
        urgency,
        why: notices.map((one) => `${one.what} ${one.rule === 'swing' ? swungAgain : one.toDo}`).join(' '),
        earliestMs,
        latestMs: days === null ? null : Math.max(earliestMs + 7 * dayMs, nowMs + days * dayMs),
        minutes: Math.max(...notices.map(minutesFor)),
        cautions: [...new Set(notices.flatMap((one) => cautionsFor(one.rule)))],
        noticeIds: notices.map((one) => one.id),
        venueId: first.notice.venueId,
        bring: [...bagFor[kind]],
        choice: null,
      },
    ];
  });
  return calls.sort((a, b) => b.urgency - a.urgency || a.place.localeCompare(b.place));
}

const highest = (notices: readonly Notice[]): Class0to3 =>
  notices.map((one) => one.severity).sort((a, b) => b - a)[0] ?? 0;
