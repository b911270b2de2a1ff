/** Venues, rooms, sensors and their placements, and the health of the service. */
import type { AirNow, Correction, Placement, Sensor } from '../contract/index.ts';
import { instruments } from '../registry/instruments.ts';
import { refusedTallies } from '../registry/refused.ts';
import { placements, putPlacement, type SensorRow, sensorRows } from '../registry/sensors.ts';
import { putRoom, putVenue, rooms, venues } from '../registry/venues.ts';
import { correctionAt } from '../series/amended.ts';
import { hearersAt } from '../series/stands-at.ts';
import { silentAfterMs } from '../watch/rules/sensor-rules.ts';
import { placementNow } from '../watch/sensor-places.ts';
import { sensorSigns } from '../watch/sensor-signs.ts';
import type { AppDeps, Handlers } from './handlers.ts';

type PlaceRoutes = 'health' | 'venues' | 'putVenue' | 'rooms' | 'putRoom' | 'sensors' | 'putPlacement';

export const lastAir = (row: SensorRow): AirNow | null =>
  row.last_ms === null
    ? null
    : { timeMs: row.last_ms, humidityPct: row.last_humidity_pct, temperatureC: row.last_temperature_c };

/** The newest word of the sensors that stand at one spot now. */
export function airAt(
  sensors: readonly SensorRow[],
  placed: readonly Placement[],
  where: (placement: Placement) => boolean,
  nowMs: number,
): AirNow | null {
  const there = sensors.filter((sensor) => {
    const placement = placementNow(placed, sensor.id, nowMs);
    return placement !== null && where(placement);
  });
  const news = there.map(lastAir).filter((air) => air !== null);
  return news.reduce<AirNow | null>(
    (newest, air) => (newest && newest.timeMs >= air.timeMs ? newest : air),
    null,
  );
}

export function placeHandlers({
  db,
  viewer,
  broker,
  watch,
  amendments,
  version,
  now,
}: AppDeps): Pick<Handlers, PlaceRoutes> {
  async function describe(): Promise<(placement: Placement) => string> {
    const [allRooms, allInstruments, allVenues] = await Promise.all([
      rooms(db, viewer),
      instruments(db, viewer),
      venues(db, viewer),
    ]);
    return (placement) => {
      const room = allRooms.find((one) => one.id === placement.roomId);
      if (room) return `${room.venueName} · ${room.name}`;
      const instrument = allInstruments.find((one) => one.id === placement.instrumentId);
      if (instrument) return `${instrument.venueName} · ${instrument.roomName}, inside ${instrument.name}`;
      return `${allVenues.find((one) => one.id === placement.venueId)?.name ?? ''}, outdoors`;
    };
  }

  function holdingNow(urn: string, nowMs: number): Correction | null {
    const all = amendments.correctionsOf({ organisation: viewer.organisationId, sensor: urn });
    const held = correctionAt(all, nowMs);
    return held.gain === 1 && held.offsetPct === 0 && held.offsetC === 0 ? null : held;
  }

  return {
    async health() {
      const newest = await db
        .selectFrom('sensor')
        .select(({ fn }) => fn.max('last_ms').as('lastMs'))
        .executeTakeFirst();
      return {
        status: 'ok',
        version,
        lastReadingMs: newest?.lastMs ?? null,
        broker: { port: broker.port, clients: broker.clients() },
      };
    },
    venues: () => venues(db, viewer),
    putVenue: ({ params, body }) => putVenue(db, viewer, { ...body, id: params.id }),
    async rooms() {
      const [all, sensors, placed, pianos] = await Promise.all([
        rooms(db, viewer),
        sensorRows(db, viewer),
        placements(db, viewer),
        instruments(db, viewer),
      ]);
      return all.map((room) => ({
        ...room,
        now: airAt(sensors, placed, (placement) => placement.roomId === room.id, now()),
        instruments: pianos.filter((one) => one.roomId === room.id).length,
      }));
    },
    putRoom: ({ params, body }) => putRoom(db, viewer, { ...body, id: params.id }),
    async sensors() {
      const nowMs = now();
      const [rows, placed, refused, words, signs] = await Promise.all([
        sensorRows(db, viewer),
        placements(db, viewer),
        refusedTallies(db, viewer),
        describe(),
        sensorSigns(db, viewer, nowMs),
      ]);
      const sensors = rows.map((row): Sensor => {
        const placement = placementNow(placed, row.id, nowMs);
        return {
          id: row.id,
          urn: row.urn,
          firstSeenMs: row.first_seen_ms,
          last: lastAir(row),
          correction: holdingNow(row.urn, nowMs),
          signs: [...(signs.get(row.id) ?? [])],
          leftOut: amendments.doubtsOf({ organisation: viewer.organisationId, sensor: row.urn }).length,
          batteryPct: row.battery_pct,
          intervalMs: row.interval_ms,
          silent: row.last_ms !== null && nowMs - row.last_ms > silentAfterMs(row.interval_ms),
          placement,
          placedAt: placement && words(placement),
        };
      });
      sensors.sort(
        (a, b) => Number(a.placement !== null) - Number(b.placement !== null) || a.urn.localeCompare(b.urn),
      );
      return { sensors, refused };
    },
    async putPlacement({ params, body }) {
      const placement = { ...body, id: params.id };
      const { touched, changedFromMs } = await putPlacement(db, viewer, placement);
      const affected = await hearersAt(db, viewer, touched);
      await watch.reconsider(
        viewer,
        affected.map((one) => one.id),
        changedFromMs,
      );
      return placement;
    },
  };
}
