/**
 * Today's sentence of a room, for whoever looks after it: what to do, in what steps, with how much water. It must not
 * harm, so it goes by the mean of a day, moves the air by few points, and never calls a bad past fine. Pure.
 */
import type { Notice, Outdoors, Room, RoomAdvice } from '../contract/index.ts';
import { byWeight, cautionsFor } from './advice.ts';
import { cautions } from './cautions.ts';
import {
  airingDries,
  dampGoalPct,
  dryGoalPct,
  type Step,
  stepDown,
  stepUp,
  waterLitres,
  windowsLimitPct,
} from './venue-steps.ts';
import { dayName, litres, percent } from './wording.ts';

/** Below, wood fails; above, strings rust and mould may begin: whatever is wished or was usual (common practice). */
const leastPct = 30;
const mostPct = 65;
/** What a neighbour's air may differ by, as a standard deviation (proposal): added to what is known of it. */
export const borrowedSdPct = 5;
/** Four in five: of a normal deviate. */
const fourInFive = 0.84;
/** Below, most dehumidifiers do little (common practice, no source). */
const coldC = 12;
/** Under this a day there is nothing worth filling. */
const fewLitres = 0.5;

export interface RoomFacts {
  readonly room: Room;
  readonly timeZone: string;
  readonly nowMs: number;
  /** Means of the last 24 hours, of the day that ended at the venue's midnight, and of the last three hours; null: too little was heard. */
  readonly air: {
    readonly dayPct: number;
    readonly yesterdayPct: number;
    readonly latelyPct: number;
    readonly temperatureC: number | null;
  } | null;
  readonly borrowedFrom: string | null;
  /** Its own sensors: none stands there, none ever spoke, or when one last did. */
  readonly heard: 'no sensor' | 'never' | { readonly lastMs: number };
  readonly outdoors: Outdoors | null;
  /** Open notices of its sensors and its pianos. */
  readonly notices: readonly Notice[];
  /** Notices that somebody is already called for. */
  readonly called: ReadonlySet<string>;
}

interface Part {
  readonly state: RoomAdvice['state'];
  readonly sentence: string;
  readonly cautions: readonly string[];
  readonly task: boolean;
  readonly step?: Step | null;
  readonly litres?: number | null;
}

export function roomAdvice(facts: RoomFacts): Omit<RoomAdvice, 'doneMs'> {
  const air = airOf(facts);
  const isDamp = air.some((one) => one.state === 'damp');
  const parts = [...pianosAtOnce(facts), ...air, ...sensors(facts), ...pianos(facts, isDamp)];
  const [first = calm(facts), ...others] = parts;
  return {
    state: first.state,
    sentence: first.sentence,
    because: becauseOf(facts),
    also: others.map((one) => one.sentence),
    cautions: [first, ...others].flatMap((one) => one.cautions).filter(unique),
    task: [first, ...others].some((one) => one.task),
    aimPct: first.step?.todayPct ?? null,
    tomorrowPct: first.step?.tomorrowPct ?? null,
    litresPerDay: first.litres ?? null,
  };
}

const unique = (one: string, i: number, all: readonly string[]): boolean => all.indexOf(one) === i;

/** What cannot wait (sweat), and what the venue can mend itself before anybody is called (a plug pulled). */
function pianosAtOnce({ notices, called }: RoomFacts): Part[] {
  return byWeight(notices).flatMap((one): Part[] => {
    const piano = one.place.split(' · ').at(-1) ?? one.place;
    if (one.rule === 'sweat')
      return [
        { state: 'piano', sentence: `${piano}: ${one.toVenue}`, cautions: cautionsFor(one.rule), task: true },
      ];
    if (one.rule !== 'control-lost') return [];
    const mend =
      one.evidence['likely cause'] === 'run dry'
        ? `Fill the tank of the humidity control of ${piano} today: unplug it first, plug it in again, and check that it runs.`
        : `Plug the humidity control of ${piano} in again today, fill it if it asks for water, and check that it runs.`;
    const sentence = called.has(one.id)
      ? `The humidity control of ${piano} still stands still; its technician is asked to come. Leave it plugged in until then.`
      : mend;
    return [{ state: 'control', sentence, cautions: [cautions.mains], task: !called.has(one.id) }];
  });
}

const open = (facts: RoomFacts, rule: Notice['rule']): boolean =>
  facts.notices.some((one) => one.rule === rule);

function airOf(facts: RoomFacts): Part[] {
  const { room, air, outdoors, borrowedFrom } = facts;
  if (!air) return [];
  const lowPct = Math.max(room.wishedLowPct, leastPct);
  const highPct = Math.max(lowPct + 2, Math.min(room.wishedHighPct, mostPct));
  const doubt = borrowedFrom === null ? 0 : fourInFive * borrowedSdPct;
  const temperatureC = air.temperatureC ?? 20;
  // Yesterday's mean stands still while today's steps are taken: going by the air of the hour, each look would add five points more.
  const from = { dry: Math.min(air.yesterdayPct, air.dayPct), damp: Math.max(air.yesterdayPct, air.dayPct) };
  // A board that is drier than it is used to wants the damper half of what is wished, and the other way round.
  const boardDry = open(facts, 'board-dry') || open(facts, 'pins-dry');
  const boardWet = open(facts, 'board-wet');
  const within = air.dayPct >= lowPct && air.dayPct <= highPct;
  if (Math.round(air.dayPct + doubt) < lowPct || (within && boardDry)) {
    const goal = within ? dampGoalPct(lowPct, highPct) : dryGoalPct(lowPct, highPct);
    return dry(facts, from.dry, air.latelyPct, goal, temperatureC, within);
  }
  if (Math.round(air.dayPct - doubt) > highPct || (within && boardWet)) {
    const goal = within ? dryGoalPct(lowPct, highPct) : dampGoalPct(lowPct, highPct);
    return damp(facts, from.damp, air.latelyPct, goal, temperatureC);
  }
  const windows = windowsLimitPct(room, temperatureC, outdoors);
  if (windows === null || outdoors === null || air.dayPct <= windows + 3 || outdoors.lowC >= 0) return [];
  const sentence = `Look at the windows: tonight they may run wet above ${percent(windows)}. If they do, lower the humidity by a few points.`;
  return [{ state: 'piano', sentence, cautions: [cautions.frost], task: true }];
}

function dry(
  facts: RoomFacts,
  fromPct: number,
  latelyPct: number,
  goalPct: number,
  temperatureC: number,
  within: boolean,
): Part[] {
  const { room, outdoors, borrowedFrom } = facts;
  const margin = borrowedFrom === null ? 0 : borrowedSdPct;
  const limit = windowsLimitPct(room, temperatureC, outdoors);
  const windows = limit === null ? null : limit - margin;
  const step = stepUp(fromPct, goalPct, windows);
  const frosty = outdoors === null || outdoors.lowC < 5;
  const care = [...(room.humidifier === false ? [] : [cautions.mains]), ...(frosty ? [cautions.frost] : [])];
  const what = room.humidifier === true ? 'the humidifier' : 'the humidity';
  if (!step) {
    if (windows === null || windows >= goalPct) {
      const sentence = `Leave ${what} as it is: the air has come up, and the day’s mean follows.`;
      return [{ state: 'dry', sentence, cautions: [], task: false }];
    }
    const litresNow = waterLitres(room, outdoors, temperatureC, Math.min(latelyPct, Math.max(0, windows)));
    const fill = room.humidifier === true ? ` Keep it filled${amount(litresNow, ', ')}.` : '';
    const sentence = `Leave ${what} as it is while the frost lasts: above ${percent(Math.max(0, windows))} the windows may run wet.${fill}`;
    return [{ state: 'dry', sentence, cautions: care, task: room.humidifier === true, litres: litresNow }];
  }
  const water = waterLitres(room, outdoors, temperatureC, step.todayPct);
  const held =
    step.windowsPct === null ? '' : ', and no further while the frost lasts: the windows may run wet';
  const why = within ? ' A board here is drier than it is used to.' : '';
  const act = latelyPct < step.todayPct - 0.5 ? `Raise ${what} to` : `Hold ${what} at`;
  const sentence = `${act} ${percent(step.todayPct)} today${then(step, 'more')}${held}${amount(water, '; ')}.${why}`;
  return [
    { state: 'dry', sentence: borrowed(facts, sentence), cautions: care, task: true, step, litres: water },
  ];
}

function damp(
  facts: RoomFacts,
  fromPct: number,
  latelyPct: number,
  goalPct: number,
  temperatureC: number,
): Part[] {
  const { room, outdoors } = facts;
  const step = stepDown(fromPct, goalPct);
  if (!step) return [];
  const airs = outdoors !== null && airingDries(outdoors, temperatureC, step.todayPct);
  const water = waterLitres(room, outdoors, temperatureC, step.todayPct);
  // Machines that cool the air give little below this; their coils ice over.
  const machine =
    temperatureC < coldC
      ? 'warm the room slowly, or run a dehumidifier made for cold rooms'
      : 'run a dehumidifier';
  const how =
    outdoors === null
      ? `air the room while it is drier outside, or ${machine}`
      : airs
        ? 'air the room, it is drier outside'
        : `keep the windows shut, it is damper outside, and ${machine}${amount(water === null ? null : -water, '; ')}`;
  const act = latelyPct > step.todayPct + 0.5 ? 'Lower the humidity to' : 'Hold the humidity at';
  const sentence = `${act} ${percent(step.todayPct)} today${then(step, 'less')}: ${how}.`;
  const litresAway = airs || water === null || water > 0 ? null : water;
  return [
    {
      state: 'damp',
      sentence: borrowed(facts, sentence),
      cautions: [cautions.mains],
      task: true,
      step,
      litres: litresAway,
    },
  ];
}

/** ", 2 points more tomorrow", ", 5 points more tomorrow and so on to 40 %". */
function then(step: Step, word: 'more' | 'less'): string {
  if (step.tomorrowPct === null) return '';
  const by = Math.abs(step.tomorrowPct - step.todayPct);
  const on = step.tomorrowPct === step.goalPct ? '' : ` and so on to ${percent(step.goalPct)}`;
  return `, ${by}\u00a0${by === 1 ? 'point' : 'points'} ${word} tomorrow${on}`;
}

const amount = (water: number | null, before: string): string =>
  water === null || water < 0.05 ? '' : `${before}${litres(water)} a day`;

const borrowed = ({ borrowedFrom }: RoomFacts, sentence: string): string =>
  borrowedFrom === null
    ? sentence
    : `${sentence} The air is borrowed from ${borrowedFrom}: look at a hygrometer first.`;

function sensors({ notices, heard, air, borrowedFrom }: RoomFacts): Part[] {
  const of = (rule: Notice['rule']) => notices.find((one) => one.rule === rule);
  const part = (sentence: string, task = true): Part[] => [{ state: 'sensor', sentence, cautions: [], task }];
  const silent = of('sensor-silent');
  const weak =
    (silent && Number(silent.evidence['battery, %'] ?? 100) < 25) || of('battery-low') !== undefined;
  if (weak) return part('Put new batteries into the sensor.');
  if (silent) return part('See that the sensor in this room and its gateway have power.');
  const stuck = of('sensor-stuck');
  if (stuck) return part('Take the battery out of the sensor and put it in again: it stands still.');
  if (air) return [];
  if (heard === 'never') return part('See that the new sensor sends: nothing was heard of it yet.');
  if (heard !== 'no sensor') return part('See that the sensor in this room and its gateway have power.');
  if (borrowedFrom !== null)
    return part(`Nothing is heard from ${borrowedFrom}, whose air this room borrows.`, false);
  return [
    {
      state: 'unknown',
      sentence:
        'Nothing measures this air: place a sensor here, or name a room beside it whose air is like it.',
      cautions: [],
      task: false,
    },
  ];
}

/** Said of the air already, or no matter of the venue's. */
const saidElsewhere: readonly Notice['rule'][] = [
  'sweat',
  'control-lost',
  'board-dry',
  'board-wet',
  'pins-dry',
  'pitch-out',
  'unisons-out',
  'service-due',
  'finding-open',
  'event-unsteady',
  'frost-ahead',
  'sensor-silent',
  'sensor-stuck',
  'sensor-off',
  'battery-low',
];

function pianos({ notices }: RoomFacts, isDamp: boolean): Part[] {
  const said = byWeight(notices).filter(
    (one) =>
      one.toVenue !== '' &&
      !saidElsewhere.includes(one.rule) &&
      // What slows actions and rusts strings is the damp that today's steps are for.
      !(isDamp && (one.rule === 'action-wet' || one.rule === 'rust')),
  );
  return said
    .filter((one, i) => said.findIndex((other) => other.toVenue === one.toVenue) === i)
    .map((one) => ({ state: 'piano', sentence: one.toVenue, cautions: cautionsFor(one.rule), task: true }));
}

function calm(facts: RoomFacts): Part {
  const { room, air, outdoors, borrowedFrom } = facts;
  const water = air && waterLitres(room, outdoors, air.temperatureC ?? 20, air.dayPct);
  const part = { state: 'fit', litres: water } as const;
  if (room.humidifier === true && water !== null && water >= fewLitres) {
    const sentence = `Keep the humidifier filled, ${litres(water)} a day; nothing else.`;
    return { ...part, sentence, cautions: [cautions.mains], task: true };
  }
  const sentence =
    borrowedFrom === null
      ? 'Nothing to do.'
      : `Nothing to do, as far as the air borrowed from ${borrowedFrom} tells.`;
  return { ...part, sentence, cautions: [], task: false };
}

function becauseOf({ room, air, heard, borrowedFrom, timeZone, nowMs }: RoomFacts): string {
  const whose =
    borrowedFrom === null ? '' : ` in ${borrowedFrom}, give or take ${borrowedSdPct}\u00a0points here`;
  const wished = `${room.wishedLowPct} to ${percent(room.wishedHighPct)} wished`;
  const beyond =
    room.wishedLowPct < leastPct || room.wishedHighPct > mostPct
      ? ` Whatever is wished, under ${percent(leastPct)} wood may fail and over ${percent(mostPct)} strings rust.`
      : '';
  if (air) return `${percent(air.dayPct)} on the mean of the last day${whose}; ${wished}.${beyond}`;
  if (typeof heard === 'object')
    return `No reading since ${dayName(heard.lastMs, timeZone, nowMs)}; ${wished}.`;
  return `Its air is not known; ${wished}.`;
}
