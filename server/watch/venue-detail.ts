/** One room in detail: its last day, what its windows bear, how much water it takes, what its past was. */
import { setImmediate as breathe } from 'node:timers/promises';
import type { RoomDetail } from '../contract/index.ts';
import { NotFound, type Viewer } from '../registry/viewer.ts';
import { type HistoricBand, historicBand, limitsAt } from '../science/index.ts';
import type { Amendments } from '../series/amended.ts';
import { hourMs } from '../series/climate.ts';
import { leftOutOf } from '../series/left-out.ts';
import { hourlyAir, meanOfLast } from '../series/room-air.ts';
import { type RoomDeps, type RoomYears, roomToday, shareWithin, standing } from './venue-rooms.ts';
import { waterLitres, windowsLimitPct } from './venue-steps.ts';
import { doneToday } from './venue-tasks.ts';
import { litres, percent } from './wording.ts';

/** A year, and half a season's month at each end. */
const pastHours = 395 * 24;
const usualC = 20;

/** Weathers to size a humidifier by (common practice: outdoor air of winter, autumn and a mild day). */
const weathers = [
  { says: 'hard frost, \u221210\u00a0°C', temperatureC: -10, humidityPct: 80 },
  { says: 'light frost, \u22122\u00a0°C', temperatureC: -2, humidityPct: 85 },
  { says: 'a mild day, 6\u00a0°C', temperatureC: 6, humidityPct: 80 },
] as const;

export async function roomDetail(
  deps: RoomDeps & { readonly amendments: Pick<Amendments, 'doubtsOf'> },
  viewer: Viewer,
  years: RoomYears,
  roomId: string,
  nowMs: number,
): Promise<RoomDetail> {
  const everywhere = await standing(deps, viewer, null, nowMs);
  const room = everywhere.rooms.find((one) => one.id === roomId);
  if (!room) throw new NotFound('id', 'id: no such room');
  const done = await doneToday(deps.db, viewer, everywhere.venues, nowMs);
  const { today, hours, placed } = await roomToday(deps, viewer, everywhere, room, years, done, nowMs);
  const day = hours.humidityPct.slice(-24);
  const dayFromMs = hours.fromMs + (hours.humidityPct.length - day.length) * hourMs;
  const outdoors = everywhere.outdoors.get(room.venueId) ?? null;
  const temperatureC = meanOfLast(hours.temperatureC, 25, 6);
  await breathe();
  const past = await hourlyAir(deps.store, viewer, placed, pastHours, nowMs);
  await breathe();
  const band = today.borrowedFrom === null ? historicBand(past.humidityPct) : null;
  return {
    ...today,
    lastDay: {
      timesMs: day.map((_, i) => dayFromMs + i * hourMs),
      humidityPct: day.map(tenth),
      temperatureC: hours.temperatureC.slice(-24).map(tenth),
      within: shareWithin(day, room, today.borrowedFrom !== null),
      leftOut: leftOutOf(
        deps.amendments,
        viewer,
        placed,
        { fromMs: dayFromMs, toMs: dayFromMs + day.length * hourMs },
        hourMs,
      ),
    },
    outdoors,
    windowsDryUpToPct: windowsLimitPct(room, temperatureC ?? usualC, outdoors),
    water: sized(room, temperatureC ?? usualC),
    past: band && pastOf(band, past.humidityPct.length - 1),
  };
}

const tenth = (value: number | null): number | null => (value === null ? null : Math.round(value * 10) / 10);

type SizedRoom = Parameters<typeof waterLitres>[0] &
  Parameters<typeof windowsLimitPct>[0] & { wishedLowPct: number };

function sized(room: SizedRoom, temperatureC: number): RoomDetail['water'] {
  const wants = weathers.map((weather) => {
    const windows = windowsLimitPct(room, temperatureC, {
      ...weather,
      lowC: weather.temperatureC,
      from: 'typed',
    });
    const holdPct = Math.min(room.wishedLowPct, windows ?? 100);
    return { ...weather, holdPct, water: waterLitres(room, weather, temperatureC, holdPct) };
  });
  const known = wants.flatMap(({ says, holdPct, water }) =>
    water === null ? [] : [{ says, holdPct, litresPerDay: Math.max(0, water) }],
  );
  const [frost] = known;
  if (!frost) return null;
  const most = Math.max(...known.map((one) => one.litresPerDay));
  const windows =
    frost.holdPct < room.wishedLowPct
      ? ` In hard frost the windows bear only ${percent(frost.holdPct)}, and that is what is counted there.`
      : '';
  return {
    holdPct: room.wishedLowPct,
    temperatureC,
    weathers: known.map(({ says, litresPerDay }) => ({ says, litresPerDay })),
    sentence: `To hold ${percent(room.wishedLowPct)} it takes a humidifier that gives ${litres(most)} a day.${windows} One of twice that runs quietly and need not run all day.`,
  };
}

function pastOf(band: HistoricBand, hour: number): RoomDetail['past'] {
  const now = limitsAt(band, hour);
  return now && { ...now, meanPct: band.meanPct, caution: band.caution };
}
