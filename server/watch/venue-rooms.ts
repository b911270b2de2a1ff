/** All rooms with their air, their year and today's sentence, gathered from the stores. */
import { setImmediate as breathe } from 'node:timers/promises';
import type { TimeSeries } from '../../ingest/index.ts';
import type { AirNow, Notice, Outdoors, Placement, RoomToday, Venue } from '../contract/index.ts';
import type { Database } from '../db/database.ts';
import { instruments, type PlacedInstrument } from '../registry/instruments.ts';
import { type PlacedSensor, placements, type SensorRow, sensorRows } from '../registry/sensors.ts';
import { rooms, venues } from '../registry/venues.ts';
import { seenBy, type Viewer } from '../registry/viewer.ts';
import { normalCdf, shareInBand } from '../science/index.ts';
import { dayMs } from '../series/board-run.ts';
import { hourFloor, hourMs } from '../series/climate.ts';
import { type AirColumns, dailyAir, hourlyAir, meanOfLast } from '../series/room-air.ts';
import { weatherFrom } from './evaluate-venues.ts';
import { noticeFromRow } from './notice-rows.ts';
import { openCalls } from './open-calls.ts';
import { dayStartMs, localDay } from './venue-day.ts';
import { outdoorsAt } from './venue-outdoors.ts';
import { doneKey, doneToday } from './venue-tasks.ts';
import { borrowedSdPct, type RoomFacts, roomAdvice } from './venue-today.ts';

export interface RoomDeps {
  readonly db: Database;
  readonly store: TimeSeries;
}

export type ListedRoom = Awaited<ReturnType<typeof rooms>>[number];

const monthHours = 30 * 24;
const yearDays = 365;
/** A day's mean rests on at least so many of its hours. */
const leastHours = 6;

/** What stands at the venues now, read once for all their rooms. */
export interface Standing {
  readonly rooms: readonly ListedRoom[];
  readonly venues: ReadonlyMap<string, Venue>;
  readonly instruments: readonly PlacedInstrument[];
  /** By room: the sensors that stand there now, and all that ever stood there with their dates. */
  readonly sensors: ReadonlyMap<string, readonly SensorRow[]>;
  readonly placed: ReadonlyMap<string, readonly PlacedSensor[]>;
  readonly notices: readonly Notice[];
  readonly called: ReadonlySet<string>;
  readonly outdoors: ReadonlyMap<string, Outdoors | null>;
}

/** @param venueId only this venue's rooms; null: all */
export async function standing(
  { db, store }: RoomDeps,
  viewer: Viewer,
  venueId: string | null,
  nowMs: number,
): Promise<Standing> {
  const [allRooms, allVenues, pianos, placed, sensors, rows, calls] = await Promise.all([
    rooms(db, viewer),
    venues(db, viewer),
    instruments(db, viewer),
    placements(db, viewer),
    sensorRows(db, viewer),
    db
      .selectFrom('notice')
      .$call(seenBy(viewer, 'notice'))
      .selectAll()
      .where('state', '<>', 'over')
      .execute(),
    openCalls(db, viewer, nowMs),
  ]);
  const at = placedAt(placed, sensors);
  const shown = venueId === null ? allRooms : allRooms.filter((one) => one.venueId === venueId);
  const outdoors = new Map<string, Outdoors | null>();
  for (const venue of allVenues) {
    if (!shown.some((one) => one.venueId === venue.id)) continue;
    const today = localDay(nowMs, venue.timeZone);
    const days = await weatherFrom(db, viewer, venue.id, today);
    outdoors.set(venue.id, await outdoorsAt(store, viewer, at.get(venue.id) ?? [], days, today, nowMs));
  }
  return {
    rooms: shown,
    venues: new Map(allVenues.map((one) => [one.id, one])),
    instruments: pianos,
    sensors: standingNow(placed, sensors, nowMs),
    placed: at,
    notices: rows.map((row) => noticeFromRow(row)),
    called: new Set(calls.flatMap((one) => one.noticeIds)),
    outdoors,
  };
}

/** By where they stood: a room, an instrument or, outdoors, a venue. */
function placedAt(placed: readonly Placement[], sensors: readonly SensorRow[]): Map<string, PlacedSensor[]> {
  const urns = new Map(sensors.map((one) => [one.id, one.urn]));
  const at = new Map<string, PlacedSensor[]>();
  for (const { sensorId, fromMs, untilMs, ...one } of placed) {
    const place = one.roomId ?? one.instrumentId ?? one.venueId;
    const urn = urns.get(sensorId);
    if (place === null || urn === undefined) continue;
    at.set(place, [...(at.get(place) ?? []), { urn, sensorId, fromMs, untilMs }]);
  }
  return at;
}

function standingNow(placed: readonly Placement[], sensors: readonly SensorRow[], nowMs: number) {
  const rows = new Map(sensors.map((one) => [one.id, one]));
  const at = new Map<string, SensorRow[]>();
  for (const { sensorId, roomId, fromMs, untilMs } of placed) {
    const row = rows.get(sensorId);
    if (!row || roomId === null || fromMs > nowMs || (untilMs !== null && untilMs <= nowMs)) continue;
    at.set(roomId, [...(at.get(roomId) ?? []), row]);
  }
  return at;
}

/** Whose air speaks for a room: its own sensors', or those of the room it borrows from while none stands in it. */
export interface Speaks {
  readonly own: readonly SensorRow[];
  readonly placed: readonly PlacedSensor[];
  readonly borrowedFrom: ListedRoom | null;
  readonly now: AirNow | null;
}

export function speaksFor(all: Standing, room: ListedRoom): Speaks {
  const own = all.sensors.get(room.id) ?? [];
  const lender = own.length > 0 ? undefined : all.rooms.find((one) => one.id === room.borrowsRoomId);
  const from = lender ?? room;
  return {
    own,
    placed: all.placed.get(from.id) ?? [],
    borrowedFrom: lender ?? null,
    now: newest(all.sensors.get(from.id) ?? []),
  };
}

function newest(sensors: readonly SensorRow[]): AirNow | null {
  const [last] = sensors
    .filter((one) => one.last_ms !== null)
    .sort((a, b) => (b.last_ms ?? 0) - (a.last_ms ?? 0));
  return last && last.last_ms !== null
    ? { timeMs: last.last_ms, humidityPct: last.last_humidity_pct, temperatureC: last.last_temperature_c }
    : null;
}

/** The past year of a room is read once an hour: it is long, and only its last day changes. */
export class RoomYears {
  readonly #kept = new Map<string, { readonly key: string; readonly air: AirColumns }>();

  async of(
    { store }: RoomDeps,
    viewer: Viewer,
    roomId: string,
    placed: readonly PlacedSensor[],
    nowMs: number,
  ): Promise<AirColumns> {
    const key = `${hourFloor(nowMs)} ${JSON.stringify(placed)}`;
    const kept = this.#kept.get(roomId);
    if (kept?.key === key) return kept.air;
    const air = await dailyAir(store, viewer, placed, yearDays, nowMs);
    this.#kept.set(roomId, { key, air });
    return air;
  }
}

/** What is asked of a room today, and the hours it rests on. */
export async function roomToday(
  deps: RoomDeps,
  viewer: Viewer,
  all: Standing,
  room: ListedRoom,
  years: RoomYears,
  done: ReadonlyMap<string, number>,
  nowMs: number,
): Promise<{
  readonly today: RoomToday;
  readonly hours: AirColumns;
  readonly placed: readonly PlacedSensor[];
}> {
  const speaks = speaksFor(all, room);
  const hours = await hourlyAir(deps.store, viewer, speaks.placed, monthHours, nowMs);
  const dayPct = meanOfLast(hours.humidityPct, 25, leastHours);
  const year = await years.of(deps, viewer, room.id, speaks.placed, nowMs);
  const timeZone = all.venues.get(room.venueId)?.timeZone ?? 'UTC';
  const sinceMidnight = Math.ceil((nowMs - dayStartMs(localDay(nowMs, timeZone), timeZone)) / hourMs) || 1;
  const yesterdayPct = meanOfLast(hours.humidityPct.slice(0, -sinceMidnight), 24, leastHours);
  const here = all.instruments.filter((one) => one.roomId === room.id);
  const lastMs = newest(speaks.own)?.timeMs;
  const borrowedFrom = speaks.borrowedFrom?.name ?? null;
  const facts: RoomFacts = {
    room,
    timeZone,
    nowMs,
    air:
      dayPct === null
        ? null
        : {
            dayPct,
            yesterdayPct: yesterdayPct ?? dayPct,
            latelyPct: meanOfLast(hours.humidityPct, 4, 2) ?? dayPct,
            temperatureC: meanOfLast(hours.temperatureC, 25, leastHours),
          },
    borrowedFrom,
    heard: speaks.own.length === 0 ? 'no sensor' : lastMs === undefined ? 'never' : { lastMs },
    outdoors: all.outdoors.get(room.venueId) ?? null,
    notices: all.notices.filter(
      (one) =>
        here.some((piano) => piano.id === one.instrumentId) ||
        speaks.own.some((sensor) => sensor.id === one.sensorId),
    ),
    called: all.called,
  };
  const advice = roomAdvice(facts);
  const known = hours.humidityPct.filter((one) => one !== null);
  const { venueName, ...plain } = room;
  const today: RoomToday = {
    ...plain,
    venueName,
    timeZone,
    instruments: here.map(({ id, name }) => ({ id, name })),
    now: speaks.now,
    borrowedFrom,
    today: { ...advice, doneMs: done.get(doneKey(room.id, advice.state)) ?? null },
    lastMonth: { within: shareWithin(hours.humidityPct, room, borrowedFrom !== null), hours: known.length },
    strip: {
      endMs: Math.min(nowMs, year.fromMs + yearDays * dayMs),
      humidityPct: year.humidityPct.map((one) => (one === null ? null : Math.round(one * 10) / 10)),
    },
  };
  return { today, hours, placed: speaks.placed };
}

/** Of borrowed air each hour counts with its chance of being within. */
export function shareWithin(
  hours: readonly (number | null)[],
  { wishedLowPct, wishedHighPct }: ListedRoom,
  isBorrowed: boolean,
): number | null {
  if (!isBorrowed) return shareInBand(hours, wishedLowPct, wishedHighPct);
  const known = hours.filter((one) => one !== null);
  if (known.length === 0) return null;
  const chance = (pct: number) =>
    normalCdf((wishedHighPct - pct) / borrowedSdPct) - normalCdf((wishedLowPct - pct) / borrowedSdPct);
  return known.reduce((sum, pct) => sum + chance(pct), 0) / known.length;
}

/** All rooms, those of one venue together. */
export async function roomsToday(
  deps: RoomDeps,
  viewer: Viewer,
  years: RoomYears,
  venueId: string | null,
  nowMs: number,
): Promise<RoomToday[]> {
  const all = await standing(deps, viewer, venueId, nowMs);
  const done = await doneToday(deps.db, viewer, all.venues, nowMs);
  const answer: RoomToday[] = [];
  for (const room of all.rooms) {
    // A room's hours are read in one go; messages and other requests come through between two rooms.
    await breathe();
    answer.push((await roomToday(deps, viewer, all, room, years, done, nowMs)).today);
  }
  return answer;
}
