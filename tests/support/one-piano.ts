/** Stores in a folder of their own with one piano in one room, and sensors that stand in its air. */
import { randomUUID } from 'node:crypto';
import {
  type PlacedInstrument,
  putInstrument,
  instrument as readInstrument,
} from '../../server/registry/instruments.ts';
import { firstOrganisation } from '../../server/registry/organisations.ts';
import { noteSensor, putPlacement } from '../../server/registry/sensors.ts';
import { putRoom, putVenue } from '../../server/registry/venues.ts';
import type { Viewer } from '../../server/registry/viewer.ts';
import { openStores, type Stores } from '../../server/services.ts';
import { instrumentBody, roomBody } from './api.ts';
import { temporaryFolder } from './service.ts';

export interface OnePiano {
  readonly stores: Stores;
  readonly viewer: Viewer;
  readonly piano: PlacedInstrument;
  /** @returns the sensor's id; it stands in the room's air from then on, or until then */
  sense(urn: string, fromMs: number, untilMs?: number | null): Promise<string>;
  stop(): Promise<void>;
}

/** @param instrumentId of a piano elsewhere, where two stores are to be set side by side */
export async function onePiano(startMs: number, instrumentId: string = randomUUID()): Promise<OnePiano> {
  const folder = temporaryFolder();
  const stores = await openStores(folder.path);
  const { db } = stores;
  const viewer = await firstOrganisation(db, startMs);
  const [venueId, roomId] = [randomUUID(), randomUUID()];
  await putVenue(db, viewer, { id: venueId, name: 'Larkmoor', timeZone: 'Europe/Vienna' });
  await putRoom(db, viewer, { ...roomBody, id: roomId, venueId });
  await putInstrument(db, viewer, { ...instrumentBody, id: instrumentId, roomId });
  return {
    ...{ stores, viewer, piano: await readInstrument(db, viewer, instrumentId) },
    async sense(urn, fromMs, untilMs = null) {
      const nothing = { humidityPct: null, temperatureC: null, batteryPct: null, intervalMs: null };
      const { id } = await noteSensor(db, viewer, { urn, firstMs: fromMs, lastMs: fromMs, ...nothing });
      await putPlacement(db, viewer, {
        ...{ id: randomUUID(), sensorId: id, spot: 'room', roomId, instrumentId: null, venueId: null },
        ...{ fromMs, untilMs },
      });
      return id;
    },
    async stop() {
      await stores.stop();
      folder.remove();
    },
  };
}
