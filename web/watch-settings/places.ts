/** Where settings of the watch can be set, and what stands above each place. */
import type { InstrumentSummary, RoomNow, Scope, Venue } from '../../server/contract/index.ts';

export interface Place {
  readonly scope: Scope;
  readonly id: string;
  readonly name: string;
}

export interface Registry {
  readonly organisation: { readonly id: string; readonly name: string };
  readonly venues: readonly Venue[];
  readonly rooms: readonly RoomNow[];
  readonly instruments: readonly InstrumentSummary[];
}

/** From the organisation down to the place itself; null where there is no such place. */
export function chainTo(scope: string, id: string, known: Registry): Place[] | null {
  const { organisation, venues, rooms, instruments } = known;
  const top: Place = { scope: 'organisation', id: organisation.id, name: organisation.name };
  const under = (above: Place[] | null, place: Place | null) => (above && place ? [...above, place] : null);
  switch (scope) {
    case 'organisation':
      return id === organisation.id ? [top] : null;
    case 'venue': {
      const venue = venues.find((one) => one.id === id);
      return venue ? [top, { scope: 'venue', id, name: venue.name }] : null;
    }
    case 'room': {
      const room = rooms.find((one) => one.id === id);
      return room
        ? under(chainTo('venue', room.venueId, known), { scope: 'room', id, name: room.name })
        : null;
    }
    case 'instrument': {
      const instrument = instruments.find((one) => one.id === id);
      return instrument
        ? under(chainTo('room', instrument.roomId, known), { scope: 'instrument', id, name: instrument.name })
        : null;
    }
    default:
      return null;
  }
}

export const addressOf = ({ scope, id }: Pick<Place, 'scope' | 'id'>): string =>
  `/settings/watch/${scope}/${id}`;

/** "from the venue" names the place in a chain it came from. */
export const sourceIn = (from: string, chain: readonly Place[]): Place | null =>
  chain.find(({ scope }) => from === `from the ${scope}`) ?? null;
