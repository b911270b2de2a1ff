/** Puts a whole scenario of records into a data folder at once: for demo data and tests. */
import type {
  Event,
  HumidityControl,
  Instrument,
  Placement,
  Room,
  Venue,
  VisitBody,
} from './contract/index.ts';
import { putEvent } from './registry/events.ts';
import { addGateway, type Credentials } from './registry/gateways.ts';
import { putHumidityControl } from './registry/humidity-controls.ts';
import { putInstrument } from './registry/instruments.ts';
import { firstOrganisation } from './registry/organisations.ts';
import { noteSensor, putPlacement } from './registry/sensors.ts';
import { putRoom, putVenue } from './registry/venues.ts';
import { openStores } from './services.ts';
import { putVisit } from './visits/visits.ts';

export interface SeedRecords {
  /** Made as well; its credentials are returned, since only hashes are kept. */
  readonly gateway: string;
  readonly venues: readonly Venue[];
  readonly rooms: readonly Room[];
  readonly instruments: readonly Instrument[];
  /** Sensors are known by the name they publish under; placements point at that name. */
  readonly sensors: readonly { readonly urn: string; readonly firstMs: number; readonly lastMs: number }[];
  readonly placements: readonly (Omit<Placement, 'sensorId'> & { readonly urn: string })[];
  readonly visits: readonly (VisitBody & { readonly id: string })[];
  /** Concerts and the like, past and to come. */
  readonly events: readonly Event[];
  /** Humidity control fitted in instruments. */
  readonly humidityControls: readonly HumidityControl[];
}

/** @returns the organisation the readings belong to, and the gateway's credentials. */
export async function seedRecords(
  dataDir: string,
  records: SeedRecords,
  nowMs: number,
): Promise<{ organisation: string; gateway: Credentials }> {
  const stores = await openStores(dataDir);
  try {
    const { db } = stores;
    const viewer = await firstOrganisation(db, nowMs);
    for (const venue of records.venues) await putVenue(db, viewer, venue);
    for (const room of records.rooms) await putRoom(db, viewer, room);
    for (const instrument of records.instruments) await putInstrument(db, viewer, instrument);
    const sensorIds = new Map<string, string>();
    for (const sensor of records.sensors) {
      const row = await noteSensor(db, viewer, {
        ...sensor,
        humidityPct: null,
        temperatureC: null,
        batteryPct: null,
        intervalMs: null,
      });
      sensorIds.set(sensor.urn, row.id);
    }
    for (const { urn, ...placement } of records.placements) {
      const sensorId = sensorIds.get(urn);
      if (!sensorId) throw new Error(`placements: no sensor named ${urn}`);
      await putPlacement(db, viewer, { ...placement, sensorId });
    }
    for (const event of records.events) await putEvent(db, viewer, event);
    for (const control of records.humidityControls) await putHumidityControl(db, viewer, control);
    for (const { id, ...body } of records.visits) await putVisit(db, viewer, id, body, nowMs);
    const gateway = await addGateway(db, viewer, records.gateway, nowMs);
    return { organisation: viewer.organisationId, gateway };
  } finally {
    await stores.stop();
  }
}
