/** Where sensors stand at a time: of each its spot, and which stand in one venue and side by side. */
import type { Placement } from '../contract/index.ts';
import { placeOf } from '../registry/instruments.ts';
import type { RegistryFacts } from './registry-facts.ts';
import { spotKey } from './sensor-air.ts';

export interface Spot {
  readonly venueId: string;
  readonly timeZone: string;
  /** As a person calls it. */
  readonly name: string;
}

export interface SensorPlaces {
  readonly placed: ReadonlyMap<string, Placement>;
  readonly spots: ReadonlyMap<string, Spot>;
  readonly inVenue: ReadonlyMap<string, readonly string[]>;
  readonly atSpot: ReadonlyMap<string, readonly Placement[]>;
}

export const stands = ({ fromMs, untilMs }: Placement, nowMs: number): boolean =>
  fromMs <= nowMs && (untilMs === null || untilMs > nowMs);

export const placementNow = (
  placements: readonly Placement[],
  sensorId: string,
  nowMs: number,
): Placement | null => placements.find((one) => one.sensorId === sensorId && stands(one, nowMs)) ?? null;

function spotOf(placement: Placement, facts: RegistryFacts): Spot | null {
  const instrument = placement.instrumentId ? facts.byId.get(placement.instrumentId) : undefined;
  const room = placement.roomId ? facts.rooms.get(placement.roomId) : undefined;
  const venueId = instrument?.venueId ?? room?.venueId ?? placement.venueId;
  const venue = venueId ? facts.venues.get(venueId) : undefined;
  if (!venue) return null;
  const name = instrument ? placeOf(instrument) : `${venue.name} · ${room?.name ?? 'outdoors'}`;
  return { venueId: venue.id, timeZone: venue.timeZone, name };
}

/** Made once for as long as the facts are the same and no placement begins or ends. */
const made = new WeakMap<RegistryFacts, SensorPlaces & { fromMs: number; untilMs: number }>();

export function placesAt(facts: RegistryFacts, nowMs: number): SensorPlaces {
  const before = made.get(facts);
  if (before && before.fromMs <= nowMs && nowMs < before.untilMs) return before;
  const placed = new Map<string, Placement>();
  const spots = new Map<string, Spot>();
  const inVenue = new Map<string, string[]>();
  const atSpot = new Map<string, Placement[]>();
  let [fromMs, untilMs] = [Number.NEGATIVE_INFINITY, Number.POSITIVE_INFINITY];
  for (const one of facts.placements) {
    for (const edgeMs of [one.fromMs, one.untilMs]) {
      if (edgeMs === null) continue;
      if (edgeMs <= nowMs) fromMs = Math.max(fromMs, edgeMs);
      else untilMs = Math.min(untilMs, edgeMs);
    }
    if (stands(one, nowMs)) placed.set(one.sensorId, one);
  }
  for (const [id, placement] of placed) {
    const spot = spotOf(placement, facts);
    if (!spot) continue;
    spots.set(id, spot);
    push(inVenue, spot.venueId, id);
    const key = spotKey(placement);
    if (key !== null) push(atSpot, key, placement);
  }
  const places = { placed, spots, inVenue, atSpot, fromMs, untilMs };
  made.set(facts, places);
  return places;
}

const push = <Value>(map: Map<string, Value[]>, key: string, value: Value): void => {
  const there = map.get(key);
  if (there) there.push(value);
  else map.set(key, [value]);
};
