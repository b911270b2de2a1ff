/** What seems to be wrong with sensors, each sign in words with what helps, for the page that lists them. */
import type { Database } from '../db/database.ts';
import { doubtsSince } from '../registry/doubts.ts';
import { type HeardBy, heardBySince } from '../registry/heard-by.ts';
import { type SensorRow, sensorRows } from '../registry/sensors.ts';
import { seenBy, type Viewer } from '../registry/viewer.ts';
import { dayMs } from '../series/board-run.ts';
import { span } from './wording.ts';

const minuteMs = 60_000;
/** "12 minutes", "3 hours": nearer than a notice would say it, for clocks are set by the minute. */
const lasting = (ms: number): string =>
  ms < 100 * minuteMs ? `${Math.round(ms / minuteMs)}\u00a0minutes` : span(ms);
/** Younger, and it is the way that takes its time. */
const behindMs = 10 * minuteMs;
const aheadMs = minuteMs;

/** @param leastAgeMs of its newest reading on arrival, at best, over a day */
export function clockSign(leastAgeMs: number): string | null {
  if (leastAgeMs < -aheadMs) {
    return `Its clock is ahead by ${lasting(-leastAgeMs)}: set it; further ahead than five minutes its readings are set aside.`;
  }
  if (leastAgeMs < behindMs) return null;
  const hours = Math.round(leastAgeMs / 3_600_000);
  const isWholeHours = hours > 0 && Math.abs(leastAgeMs - hours * 3_600_000) < 5 * minuteMs;
  return isWholeHours
    ? `Its readings are ${lasting(leastAgeMs)} old when they come: it may be set to another time zone, or to summer time.`
    : `Its readings are ${lasting(leastAgeMs)} old at best when they come: its clock is behind, or they wait on the way.`;
}

export function gatewaySign({ gateways }: HeardBy): string | null {
  if (gateways.length < 2) return null;
  const named = `${gateways.slice(0, -1).join(', ')} and ${gateways.at(-1)}`;
  return `It comes by ${named}. One sensor heard twice does no harm; two sensors under one name do: give one of them another.`;
}

function jumpSign({ count, lastMs }: { count: number; lastMs: number }, nowMs: number): string {
  const often = count === 1 ? 'One reading' : `${count} readings`;
  return `${often} of the last week jumped and came back, the last ${lasting(nowMs - lastMs)} ago: kept, but left out of what is computed. See to its battery and contacts.`;
}

/** By sensor id; sensors without a sign are not in it. */
export async function sensorSigns(
  db: Database,
  viewer: Viewer,
  nowMs: number,
): Promise<ReadonlyMap<string, readonly string[]>> {
  const rows: readonly SensorRow[] = await sensorRows(db, viewer);
  const [jumped, heard, told] = await Promise.all([
    doubtsSince(db, viewer, nowMs - 7 * dayMs),
    heardBySince(db, viewer, nowMs - dayMs),
    db
      .selectFrom('notice')
      .$call(seenBy(viewer, 'notice'))
      .select(['sensor_id', 'what', 'to_do'])
      .where('rule', 'in', ['sensor-stuck', 'sensor-off'])
      .where('state', '<>', 'over')
      .execute(),
  ]);
  const signs = new Map<string, string[]>();
  for (const { id, urn } of rows) {
    const mine = told.flatMap(({ sensor_id, what, to_do }) => (sensor_id === id ? [`${what} ${to_do}`] : []));
    const jump = jumped.get(id);
    if (jump) mine.push(jumpSign(jump, nowMs));
    const by = heard.get(urn);
    const more = by ? [clockSign(by.leastAgeMs), gatewaySign(by)] : [];
    mine.push(...more.filter((one) => one !== null));
    if (mine.length > 0) signs.set(id, mine);
  }
  return signs;
}
