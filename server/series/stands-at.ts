import type { Placement } from '../contract/index.ts';
import type { PlacedInstrument } from '../registry/instruments.ts';

/** Does a sensor at this place speak for the instrument? */
export const standsAt = (instrument: PlacedInstrument, where: Placement): boolean =>
  where.instrumentId === instrument.id || where.roomId === instrument.roomId;
