/** What the service would know of a simulated fleet: intervals it may learn from, with the spot readings beside them. */
import {
  lagGridDays,
  type MoistureCourse,
  moistureCourse,
  observationsOf,
  type PastInterval,
} from '../../../server/science/drift/index.ts';
import type { SimulatedInstrument } from './fleet.ts';

export interface Known {
  readonly source: SimulatedInstrument;
  readonly course: MoistureCourse;
  readonly intervals: readonly PastInterval[];
  readonly excluded: number;
}

export function knownOf(source: SimulatedInstrument): Known {
  const { instrument, air, visits } = source;
  const course = moistureCourse(air, lagGridDays);
  const { observations, excluded } = observationsOf(instrument, visits, course, [], () => null);
  const spot = new Map(visits.map((visit) => [visit.atMs, visit.spotHumidityPct]));
  return {
    source,
    course,
    excluded: excluded.length,
    intervals: observations.map((observation) => ({
      observation,
      spotHumidityPct: { from: spot.get(observation.fromMs) ?? null, to: spot.get(observation.toMs) ?? null },
    })),
  };
}
