/** What stands where, gathered once for many instruments. Kept by the loop until something of it changes. */
import type { Placement, Settings, Venue } from '../contract/index.ts';
import type { Database } from '../db/database.ts';
import { instruments, type PlacedInstrument } from '../registry/instruments.ts';
import { type PlacedSensor, placements, type SensorRow, sensorRows } from '../registry/sensors.ts';
import { rooms, venues } from '../registry/venues.ts';
import { seenBy, type Viewer } from '../registry/viewer.ts';
import type { ClimateSources } from '../series/climate.ts';
import { settingRows, settingsResolver } from './settings.ts';

export interface RegistryFacts {
  readonly instruments: readonly PlacedInstrument[];
  readonly byId: ReadonlyMap<string, PlacedInstrument>;
  readonly rooms: ReadonlyMap<
    string,
    { readonly id: string; readonly venueId: string; readonly name: string }
  >;
  readonly venues: ReadonlyMap<string, Venue>;
  readonly placements: readonly Placement[];
  readonly urnById: ReadonlyMap<string, string>;
  readonly idByUrn: ReadonlyMap<string, string>;
  sourcesOf(instrument: PlacedInstrument): ClimateSources;
  /** The instruments a sensor speaks for, wherever and while it stood. */
  heardAt(sensorId: string): readonly Heard[];
  settingsFor(instrument: PlacedInstrument): Settings;
  settingsOf(venueId: string | null): Settings;
}

export interface Heard {
  readonly fromMs: number;
  readonly untilMs: number | null;
  readonly instrumentIds: readonly string[];
}

const none: readonly PlacedSensor[] = [];
const nowhere: readonly Heard[] = [];

/** Counts the changes to what the facts are made of, whoever wrote them. */
export async function registryChanges(db: Database, viewer: Viewer): Promise<number> {
  const row = await db
    .selectFrom('registry_change')
    .$call(seenBy(viewer, 'registry_change'))
    .select('changes')
    .executeTakeFirst();
  return row?.changes ?? 0;
}

export async function registryFacts(db: Database, viewer: Viewer): Promise<RegistryFacts> {
  const [all, roomList, venueList, placed, sensors, settings] = await Promise.all([
    instruments(db, viewer),
    rooms(db, viewer),
    venues(db, viewer),
    placements(db, viewer),
    sensorRows(db, viewer),
    settingRows(db, viewer),
  ]);
  const urnById = new Map(sensors.map((sensor: SensorRow) => [sensor.id, sensor.urn]));
  const at = new Map<string, PlacedSensor[]>();
  for (const one of placed) {
    const place = one.spot === 'room' ? one.roomId : one.spot === 'inside' ? one.instrumentId : null;
    const urn = urnById.get(one.sensorId);
    if (place === null || urn === undefined) continue;
    const sensor = { urn, sensorId: one.sensorId, fromMs: one.fromMs, untilMs: one.untilMs };
    push(at, place, sensor);
  }
  const inRoom = new Map<string, string[]>();
  for (const one of all) push(inRoom, one.roomId, one.id);
  const heard = new Map<string, Heard[]>();
  for (const { sensorId, instrumentId, roomId, fromMs, untilMs } of placed) {
    const instrumentIds = instrumentId ? [instrumentId] : roomId ? (inRoom.get(roomId) ?? []) : [];
    push(heard, sensorId, { fromMs, untilMs, instrumentIds });
  }
  const resolve = settingsResolver(settings);
  const organisation = viewer.organisationId;
  return {
    instruments: all,
    byId: new Map(all.map((one) => [one.id, one])),
    rooms: new Map(roomList.map((one) => [one.id, one])),
    venues: new Map(venueList.map((one) => [one.id, one])),
    placements: placed,
    urnById,
    idByUrn: new Map(sensors.map((sensor: SensorRow) => [sensor.urn, sensor.id])),
    sourcesOf: (one) => ({ room: at.get(one.roomId) ?? none, inside: at.get(one.id) ?? none }),
    heardAt: (sensorId) => heard.get(sensorId) ?? nowhere,
    settingsFor: (one) => resolve({ organisation, venue: one.venueId, room: one.roomId, instrument: one.id }),
    settingsOf: (venueId) => resolve(venueId === null ? { organisation } : { organisation, venue: venueId }),
  };
}

const push = <Value>(map: Map<string, Value[]>, key: string, value: Value): void => {
  const there = map.get(key);
  if (there) there.push(value);
  else map.set(key, [value]);
};
