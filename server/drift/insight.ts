/** What was learned of one instrument, set against its fleet, and why it moved: for its page. */
import type { DriftPoint, Learned, Register, Sensitivity, WhyMoved } from '../contract/index.ts';
import { registers } from '../contract/index.ts';
import {
  type DriftObservation,
  type DriftPosterior,
  lagWeightsOf,
  meanLagDays,
  ownSlope,
  predictOffset,
  whatComesBack,
  whyItMoved,
} from '../science/drift/index.ts';
import { overLags } from '../science/drift/lags.ts';
import type { BoardHours } from '../series/board-run.ts';
import type { Anchor } from './anchors.ts';
import type { Intervals } from './intervals.ts';
import type { Drift } from './learned.ts';
import { changeBetween } from './pitch-course.ts';
import { afterwards, type Change } from './standing.ts';

/** What is usual for its kind: the slope of an instrument nobody has seen. */
function fleetSlope(
  posterior: DriftPosterior,
  { kind, finish }: Drift['instrument'],
  register: Register,
): number {
  return ownSlope(posterior, { id: '', kind, finish }, register).slopeCentsPerPct;
}

export function sensitivityOf({ posterior, instrument }: Drift): Sensitivity[] {
  return registers
    .filter((register) => posterior.registers[register].state !== 'unknown')
    .map((register) => {
      const own = ownSlope(posterior, instrument, register);
      return {
        register,
        centsPerPct: own.slopeCentsPerPct,
        sdCents: own.slopeSd,
        fleetCentsPerPct: fleetSlope(posterior, instrument, register),
        intervals: own.rows,
      };
    });
}

/** What a prediction of its pitch rests on, in one sentence. */
export function basisWords(drift: Drift): string {
  const most = Math.max(0, ...sensitivityOf(drift).map(({ intervals }) => intervals));
  const { kind } = drift.instrument;
  const learned =
    most === 0
      ? `how far ${kind}s of the fleet move; what this one does itself is not learned yet`
      : `how far this ${kind} moves, learned from ${most} ${most === 1 ? 'interval' : 'intervals'} of its own beside the fleet's`;
  return `From when each register was heard last, what the board and the temperature did since, and ${learned}.`;
}

/** Moisture change at the lags that are likely for this instrument. */
function moistureChange({ posterior, instrument }: Drift, observation: DriftObservation): number {
  return overLags(observation.moistureChangePct, lagWeightsOf(posterior, instrument)).mean;
}

export function pointsOf(drift: Drift, { observations }: Intervals): DriftPoint[] {
  return observations.flatMap((observation) => {
    const moistureChangePct = moistureChange(drift, observation);
    return registers.flatMap((register) => {
      const changeCents = observation.changeCents[register];
      const { fromMs, toMs } = observation;
      return changeCents === undefined ? [] : [{ fromMs, toMs, register, moistureChangePct, changeCents }];
    });
  });
}

interface Moved {
  /** Those told of; all where none are named. */
  readonly of?: readonly Register[];
  readonly sinceMs: number;
  readonly untilMs: number;
  readonly change: Pick<Change, 'lagPct' | 'years' | 'temperatureC'>;
  readonly foundCents: Readonly<Partial<Record<Register, number>>> | null;
  readonly settlingCents?: number | undefined;
  readonly freshStrings?: number | undefined;
}

/** What happened to each register since it was heard last. */
export function movesSince(anchor: Anchor, history: BoardHours, nowMs: number): Moved[] {
  return registers.flatMap((register): Moved[] => {
    const heard = anchor.registers[register];
    const change = heard && changeBetween(history, heard.atMs, nowMs);
    if (!heard || !change) return [];
    const { atMs: sinceMs } = heard;
    const after = afterwards(heard, change.years);
    return [{ of: [register], sinceMs, untilMs: nowMs, change, foundCents: null, ...after }];
  });
}

/** The share of each cause in what a register did over an interval; where it was measured, the rest is unexplained. */
export function whyMovedOf(drift: Drift, moved: Moved): WhyMoved[] {
  const { posterior, instrument } = drift;
  const { of = registers, sinceMs, untilMs, foundCents } = moved;
  const change = {
    moistureChangePct: moved.change.lagPct,
    years: moved.change.years,
    temperatureChangeC: moved.change.temperatureC,
    settlingCents: moved.settlingCents ?? 0,
    freshStrings: moved.freshStrings ?? 0,
  };
  return of.flatMap((register): WhyMoved[] => {
    if (foundCents === null) {
      const said = predictOffset(posterior, instrument, register, { ...change, leftCents: 0 });
      if (!said) return [];
      const words = whatComesBack(said.parts);
      return [
        {
          ...{ sinceMs, untilMs, measured: false, register, totalCents: said.meanCents, ...said.parts },
          unexplainedCents: null,
          words: words ? `Of it ${words}.` : 'Predicted: nobody has measured it since.',
        },
      ];
    }
    const found = foundCents[register];
    const why = found === undefined ? null : whyItMoved(posterior, instrument, register, change, found);
    if (!why) return [];
    const { foundCents: totalCents, unexplainedSds: _sds, ...parts } = why;
    return [{ sinceMs, untilMs, measured: true, totalCents, ...parts }];
  });
}

/** The last interval of each register that was learned from. */
function lastMoves(observed: readonly DriftObservation[]): Moved[] {
  const lastOf = new Map(
    observed.flatMap((one) => Object.keys(one.changeCents).map((register) => [register, one] as const)),
  );
  return [...new Set(lastOf.values())].flatMap((one) =>
    movedOver(
      one,
      registers.filter((register) => lastOf.get(register) === one),
    ),
  );
}

function movedOver({ moistureChangePct, ...one }: DriftObservation, of: readonly Register[]): Moved[] {
  if (typeof moistureChangePct === 'number') return [];
  const { fromMs: sinceMs, toMs: untilMs, changeCents: foundCents, settlingCents, freshStrings } = one;
  const change = { lagPct: moistureChangePct, years: one.years, temperatureC: one.temperatureChangeC };
  return [{ of, sinceMs, untilMs, change, foundCents, settlingCents, freshStrings }];
}

export function learnedPage(
  drift: Drift,
  intervals: Intervals | undefined,
  current: readonly Moved[],
): Learned {
  const last = lastMoves(intervals?.observations ?? []);
  return {
    sensitivity: sensitivityOf(drift),
    points: intervals ? pointsOf(drift, intervals) : [],
    leftOut: (intervals?.excluded ?? []).map(({ fromMs, toMs, because }) => ({ fromMs, toMs, because })),
    lagDays: meanLagDays(drift.posterior, drift.instrument),
    whyMoved: [...current, ...last].flatMap((moved) => whyMovedOf(drift, moved)),
  };
}
