/**
 * The concerts of the scenario, each with the pianos it needs; days are counted back from the end of the seeded past,
 * negative ones lie ahead. Those of the past follow a tuning, as concerts do. All of it is invented.
 */
import type { Event } from '../server/contract/index.ts';
import { dayMs, localTime } from './clock.ts';
import { uuidOf } from './random.ts';
import type { World } from './world.ts';

interface Concert {
  readonly key: string;
  readonly venue: string;
  readonly name: string;
  readonly pianos: readonly string[];
  /** It is on the first Friday evening from that day on. */
  readonly daysAgo: readonly number[];
}

export const concerts: readonly Concert[] = [
  {
    key: 'friday-recital',
    venue: 'hall',
    name: 'Friday recital',
    pianos: ['auditorium-a'],
    daysAgo: [499, 389, 279, 169, 74, 7, -9],
  },
  {
    key: 'two-pianos',
    venue: 'hall',
    name: 'Evening for two pianos',
    pianos: ['auditorium-a', 'auditorium-b'],
    daysAgo: [-26],
  },
  {
    key: 'ensemble-evening',
    venue: 'conservatory',
    name: 'Ensemble evening',
    pianos: ['ensemble'],
    daysAgo: [531, 352, 162, 33, -16],
  },
  {
    key: 'voices',
    venue: 'church',
    name: 'Voices and piano',
    pianos: ['nave'],
    daysAgo: [479, 299, 114, -30],
  },
];

/** Half past seven in the evening of the scenario's own clock. */
const eveningHours = 18.5;

function fridayEvening(fromMs: number): number {
  const { day, weekday } = localTime(fromMs);
  return (day + ((4 - weekday + 7) % 7)) * dayMs + eveningHours * 3_600_000;
}

export function eventsOf({ anchor }: World, idOf: (kind: string, key: string) => string): Event[] {
  return concerts.flatMap(({ key, venue, name, pianos, daysAgo }) =>
    daysAgo.map((days) => ({
      id: uuidOf(`${anchor.seed} ${anchor.endMs} event ${key} ${days}`),
      venueId: idOf('venue', venue),
      name,
      startMs: fridayEvening(anchor.endMs - days * dayMs),
      instrumentIds: pianos.map((piano) => idOf('instrument', piano)),
    })),
  );
}
