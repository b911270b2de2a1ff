/**
 * What is looked at once a day and after a visit: where the pitch stands and goes, whether the humidity control holds,
 * what events and services ask for. Pure: the hourly watch reads the result, `outlook-store.ts` keeps it.
 */
import * as z from 'zod/mini';
import type { Forecast, Settings, Visit } from '../contract/index.ts';
import {
  boardFindings,
  class0to3,
  id,
  register,
  registerPitch,
  timeMs,
  tolerance,
} from '../contract/index.ts';
import { type Anchor, anchorsOf } from '../drift/anchors.ts';
import { type ControlStanding, controlStanding } from '../drift/control.ts';
import type { Drift } from '../drift/learned.ts';
import { boardOutlook, daysToSettle, lastWeekMean, outlookDays } from '../drift/outlook.ts';
import { anchorAt, changeBetween } from '../drift/pitch-course.ts';
import { type Change, offsetsAt, onwards, standingOf } from '../drift/standing.ts';
import { unisonsNow, unisonsReadSince } from '../drift/unisons-now.ts';
import type { PlacedInstrument } from '../registry/instruments.ts';
import { type Air, type Slab, toleranceFor } from '../science/index.ts';
import { type BoardHours, dayMs } from '../series/board-run.ts';
import { isTuning } from '../visits/visits.ts';
import { unsteadiness } from './event-if-air-stays.ts';
import { boardFindingsOf, lastTorqueNm, openFindings } from './findings.ts';

const openFinding = z.object({
  assembly: z.string(),
  part: z.string(),
  urgencyClass: class0to3,
  words: z.string(),
  workProposed: z.nullable(z.string()),
  minutes: z.number(),
  foundMs: timeMs,
});

const pitchOutlook = z.object({
  /** When the register that is farthest off was heard last: what moved it is told from then on. */
  anchorMs: timeMs,
  tuned: z.boolean(),
  registers: z.array(registerPitch),
  levelCents: z.number(),
  worst: z.object({ register, cents: z.number() }),
  /** Chance that level or a step is out of tolerance now; and in 21 days, null where that is unknown. */
  beyond: z.number(),
  later: z.nullable(z.number()),
  /** Days in a row it has been out with the chance at which a notice begins; looked at no further than needed. */
  heldDays: z.number(),
  moistureChangePct: z.number(),
});

/** Where the coming weeks come from: the kept forecast or, until there is one, the air as it was in the past week. */
const comingSources = ['forecast', 'air as in the past week'] as const;

export const outlook = z.object({
  madeMs: timeMs,
  comingBy: z.enum(comingSources),
  tolerance,
  findings: z.array(z.enum(boardFindings)),
  openFindings: z.array(openFinding),
  pitch: z.nullable(pitchOutlook),
  pitchMissing: z.nullable(z.enum(['no board', 'no tuning', 'tuned before the first reading'])),
  /** Days until the board has settled, 0 where it has, null where it will not within the outlook or is unknown. */
  settlesInDays: z.nullable(z.number()),
  settling: z.boolean(),
  /** The forecast's word on waiting: a tuning now would be undone in part; null where it gains nothing, or there is no forecast. */
  wait: z.nullable(z.object({ untilMs: timeMs, why: z.string() })),
  /** The forecast's joint decision on pitch and unisons; null while there is none. */
  decision: z.nullable(z.object({ advice: z.string(), because: z.string() })),
  /** Chance that unisons are wider than its use allows; null where the board is not known back to the tuning. */
  unisons: z.nullable(z.object({ spreadCents: z.number(), beyond: z.number() })),
  control: z.nullable(controlStanding),
  events: z.array(
    z.object({
      id,
      name: z.string(),
      startMs: timeMs,
      tuneMs: timeMs,
      /** Chance of a register moving over 2 cents, or unisons past their limit, between tuning and event; null: too far off to say. */
      unsteady: z.nullable(z.number()),
    }),
  ),
  lastTunedMs: z.nullable(timeMs),
  lastInspectedMs: z.nullable(timeMs),
  lastTorqueNm: z.nullable(z.number()),
  tuningMinutes: z.number(),
});
export type Outlook = z.infer<typeof outlook>;

export interface KnownForOutlook {
  readonly instrument: PlacedInstrument;
  readonly drift: Drift;
  /** Up to now, newest first, corrected ones left out. */
  readonly visits: readonly Visit[];
  /** Board and plate from the last tuning on, and from when each register was heard (or further back); null while no board is known. */
  readonly history: BoardHours | null;
  readonly slab: Slab | null;
  /** The kept forecast; null while there is none that holds. */
  readonly forecast: Forecast | null;
  /** The last week of air at the two faces. */
  readonly week: { readonly top: readonly Air[]; readonly underside: readonly Air[] };
  /** null where none is fitted, or nothing is known of its work. */
  readonly control: ControlStanding | null;
  readonly events: readonly { readonly id: string; readonly name: string; readonly startMs: number }[];
  readonly settings: Settings;
}

/** Common practice, no source: 1.5 h for a tuning, where this instrument has no minutes of its own. */
const usualTuningMinutes = 90;

export function lookAhead(known: KnownForOutlook, nowMs: number): Outlook {
  const { instrument, visits, slab, week, control, settings } = known;
  const forecast = known.forecast && known.forecast.timesMs.length > 0 ? known.forecast : null;
  const [top, underside] = [lastWeekMean(week.top), lastWeekMean(week.underside)];
  const ifItStays = slab && top && underside ? boardOutlook(slab, top, underside) : [];
  const path = forecast ? boardAsForetold(forecast, nowMs) : ifItStays;
  const tuned = visits.filter(isTuning);
  const anchor = anchorAt(anchorsOf(visits, instrument.pitchStandardHz), nowMs);
  const pitch = anchor && known.history ? pitchAt(known, anchor, known.history, path, nowMs) : null;
  const settles = daysToSettle(path);
  const wait = forecast?.wait ?? null;
  return {
    madeMs: nowMs,
    comingBy: forecast ? 'forecast' : 'air as in the past week',
    tolerance: toleranceFor(instrument.use),
    findings: boardFindingsOf(visits),
    openFindings: openFindings(visits),
    pitch,
    pitchMissing: pitch
      ? null
      : !known.history
        ? 'no board'
        : anchor
          ? 'tuned before the first reading'
          : 'no tuning',
    settlesInDays: path.length > 0 ? settles : null,
    settling: path.length > 0 && settles !== 0,
    wait: wait && wait.untilMs > nowMs ? wait : null,
    decision: forecast?.decision ?? null,
    unisons:
      known.history && tuned[0]
        ? unisonsNow(
            known.drift,
            known.history,
            tuned[0].atMs,
            toleranceFor(instrument.use).unisonCents,
            unisonsReadSince(visits),
          )
        : null,
    control,
    events: known.events
      .filter((event) => event.startMs > nowMs)
      .map((event) => {
        const leadDays = settings['event tuning days'];
        const tuneMs = event.startMs - leadDays * dayMs;
        const unsteady = forecast
          ? (forecast.events.find(({ eventId }) => eventId === event.id)?.unsteadyByLeadDays[leadDays] ??
            null)
          : unsteadiness(known, path, tuneMs, event.startMs, nowMs);
        return { ...event, tuneMs, unsteady };
      }),
    lastTunedMs: tuned[0]?.atMs ?? null,
    lastInspectedMs:
      visits.find(({ findings, sheet }) => findings.length > 0 || (sheet?.sound.length ?? 0) > 0)?.atMs ??
      null,
    lastTorqueNm: lastTorqueNm(visits),
    tuningMinutes: medianMinutes(tuned) ?? usualTuningMinutes,
  };
}

/** The day of a forecast that a time lies in; its times are the ends of its days. */
const foretoldDay = ({ timesMs }: Forecast, timeMs: number): number =>
  timesMs.findIndex((endMs) => timeMs <= endMs);

/** Median moisture of the board from today on, as many days as the watch looks ahead. */
function boardAsForetold(forecast: Forecast, nowMs: number): number[] {
  const today = foretoldDay(forecast, nowMs);
  if (today < 0) return [];
  return forecast.moisturePct.middle.slice(today, today + outlookDays + 1).filter((value) => value !== null);
}

/** Some of a technician's own visits say better than a rule of thumb how long this piano takes. */
function medianMinutes(tuned: readonly Visit[]): number | null {
  const minutes = tuned.flatMap((visit) => visit.minutes ?? []).sort((a, b) => a - b);
  return minutes.length < 2 ? null : (minutes[minutes.length >> 1] ?? null);
}

function pitchAt(
  { instrument, drift, settings, forecast }: KnownForOutlook,
  anchor: Anchor,
  history: BoardHours,
  path: readonly number[],
  nowMs: number,
): z.infer<typeof pitchOutlook> | null {
  const limits = toleranceFor(instrument.use);
  const standing = (since: (heardMs: number) => Change | null) =>
    standingOf(drift, offsetsAt(drift, anchor, since), limits);
  const until = (timeMs: number) => (heardMs: number) => changeBetween(history, heardMs, timeMs);
  const now = standing(until(nowMs));
  const heard = now.worst && anchor.registers[now.worst.register];
  const change = heard && until(nowMs)(heard.atMs);
  if (!change || !now.worst || now.beyond === null || now.levelCents === null) return null;
  let heldDays = 0;
  while (heldDays < settings['pitch days'] && now.beyond >= settings['pitch begins']) {
    const then = nowMs - (heldDays + 1) * dayMs;
    if (then < anchor.atMs || (standing(until(then)).beyond ?? 0) < settings['pitch begins']) break;
    heldDays += 1;
  }
  const [today, laterPct] = [path[0], path[outlookDays]];
  const ifItStays =
    today === undefined || laterPct === undefined
      ? null
      : standing((heardMs) => {
          const sofar = until(nowMs)(heardMs);
          return sofar && onwards(sofar, laterPct - today, outlookDays);
        }).beyond;
  const foretold = forecast?.pitchBeyond[foretoldDay(forecast, nowMs + outlookDays * dayMs)];
  return {
    anchorMs: heard.atMs,
    tuned: heard.tuned,
    registers: now.registers,
    levelCents: now.levelCents,
    worst: now.worst,
    beyond: now.beyond,
    later: foretold ?? ifItStays,
    heldDays,
    moistureChangePct: change.moisturePct,
  };
}
