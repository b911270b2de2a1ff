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
import type { Intervals } from './intervals.ts';
import type { Drift } from './learned.ts';
import type { Change } from './standing.ts';

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
  readonly sinceMs: number;
  readonly untilMs: number;
  readonly change: Pick<Change, 'lagPct' | 'years' | 'temperatureC'>;
  readonly foundCents: Readonly<Partial<Record<Register, number>>> | null;
  readonly settlingCents?: number | undefined;
  readonly freshStrings?: number | undefined;
}

/** The share of each cause in what a register did over an interval; where it was measured, the rest is unexplained. */
export function whyMovedOf(drift: Drift, moved: Moved): WhyMoved[] {
  const { posterior, instrument } = drift;
  const { sinceMs, untilMs, foundCents } = moved;
  const change = {
    moistureChangePct: moved.change.lagPct,
    years: moved.change.years,
    temperatureChangeC: moved.change.temperatureC,
    settlingCents: moved.settlingCents ?? 0,
    freshStrings: moved.freshStrings ?? 0,
  };
  return registers.flatMap((register): WhyMoved[] => {
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

export function learnedPage(drift: Drift, intervals: Intervals | undefined, current: Moved | null): Learned {
  const last = intervals?.observations.at(-1);
  const lastMoved =
    last && typeof last.moistureChangePct !== 'number'
      ? whyMovedOf(drift, {
          sinceMs: last.fromMs,
          untilMs: last.toMs,
          change: {
            lagPct: last.moistureChangePct,
            years: last.years,
            temperatureC: last.temperatureChangeC,
          },
          foundCents: last.changeCents,
          settlingCents: last.settlingCents,
          freshStrings: last.freshStrings,
        })
      : [];
  return {
    sensitivity: sensitivityOf(drift),
    points: intervals ? pointsOf(drift, intervals) : [],
    leftOut: (intervals?.excluded ?? []).map(({ fromMs, toMs, because }) => ({ fromMs, toMs, because })),
    lagDays: meanLagDays(drift.posterior, drift.instrument),
    whyMoved: [...(current ? whyMovedOf(drift, current) : []), ...lastMoved],
  };
}
