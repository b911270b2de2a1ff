/**
 * The climate of an instrument on an hourly grid: the sensors that stood inside it, and those in the air of its room,
 * each only while it stood there. Several at once are averaged; an hour nobody measured is null.
 */
import type { Rollup, TimeSeries } from '../../ingest/index.ts';
import type { Database } from '../db/database.ts';
import type { PlacedInstrument } from '../registry/instruments.ts';
import { type Stay, stays } from '../registry/moves.ts';
import { type PlacedSensor, sensorsAt } from '../registry/sensors.ts';
import type { Viewer } from '../registry/viewer.ts';

export const hourMs = 3_600_000;
export const hourFloor = (timeMs: number): number => Math.floor(timeMs / hourMs) * hourMs;

/** One entry a bucket; null where nothing was measured. */
export interface AirSeries {
  readonly humidityPct: (number | null)[];
  readonly temperatureC: (number | null)[];
}

export interface InstrumentClimate {
  /** Start of the first bucket. */
  readonly fromMs: number;
  readonly widthMs: number;
  readonly length: number;
  /** null: no sensor stood in the room in this window. */
  readonly room: AirSeries | null;
  readonly inside: AirSeries | null;
}

/** Where the readings of an instrument come from; kept apart so that a caller looks it up once. */
export interface ClimateSources {
  readonly room: readonly PlacedSensor[];
  readonly inside: readonly PlacedSensor[];
}

export async function climateSources(
  db: Database,
  viewer: Viewer,
  instrument: PlacedInstrument,
): Promise<ClimateSources> {
  const room: PlacedSensor[] = [];
  for (const stay of await stays(db, viewer, instrument)) {
    room.push(...(await sensorsAt(db, viewer, { roomId: stay.roomId })).flatMap((one) => during(one, stay)));
  }
  return { room, inside: await sensorsAt(db, viewer, { instrumentId: instrument.id }) };
}

/** A sensor of a room speaks for an instrument only while that stood there. */
function during(placed: PlacedSensor, stay: Stay): PlacedSensor[] {
  const fromMs = Math.max(placed.fromMs, stay.fromMs ?? placed.fromMs);
  const ends = [placed.untilMs, stay.untilMs].filter((end) => end !== null);
  const untilMs = ends.length === 0 ? null : Math.min(...ends);
  return untilMs !== null && untilMs <= fromMs ? [] : [{ ...placed, fromMs, untilMs }];
}

/** The first moment any of the sources could have said something; null where there is none. */
export function firstPlacedMs(sources: ClimateSources): number | null {
  const starts = [...sources.room, ...sources.inside].map((one) => one.fromMs);
  return starts.length === 0 ? null : Math.min(...starts);
}

/**
 * @param fromMs, toMs the window [fromMs, toMs); fromMs a multiple of widthMs.
 * @param widthMs bucket width; whole hours are cheap, being kept as roll-ups.
 */
export async function climateOf(
  store: TimeSeries,
  viewer: Viewer,
  sources: ClimateSources,
  fromMs: number,
  toMs: number,
  widthMs: number,
): Promise<InstrumentClimate> {
  const length = Math.max(0, Math.ceil((toMs - fromMs) / widthMs));
  const mean = (placed: readonly PlacedSensor[]) =>
    placed.length === 0 ? null : meanOf(store, viewer, placed, fromMs, toMs, widthMs, length);
  return {
    fromMs,
    widthMs,
    length,
    room: await mean(sources.room),
    inside: await mean(sources.inside),
  };
}

async function meanOf(
  store: TimeSeries,
  viewer: Viewer,
  placed: readonly PlacedSensor[],
  fromMs: number,
  toMs: number,
  widthMs: number,
  length: number,
): Promise<AirSeries | null> {
  const heard: Rollup[] = [];
  for (const one of placed) {
    // A bucket belongs to a placement when its start does: an hour cut by a move goes to the place it began in.
    const start = Math.max(fromMs, Math.ceil(one.fromMs / widthMs) * widthMs);
    const end = Math.min(toMs, one.untilMs ?? Number.POSITIVE_INFINITY);
    if (start >= end) continue;
    const id = { organisation: viewer.organisationId, sensor: one.urn };
    heard.push(await store.buckets(id, start, end, widthMs));
  }
  if (heard.length === 0) return null;
  const column = (quantity: 'humidityPct' | 'temperatureC') => {
    const mean = new Array<number | null>(length).fill(null);
    const counts = new Uint16Array(heard.length > 1 ? length : 0);
    for (const rollup of heard) {
      const { timesMs } = rollup;
      for (let i = 0; i < timesMs.length; i++) {
        const at = Math.floor(((timesMs[i] ?? 0) - fromMs) / widthMs);
        const value = rollup[quantity].mean[i] ?? null;
        if (value === null || at < 0 || at >= length) continue;
        const before = counts[at] ?? 0;
        mean[at] = before === 0 ? value : (mean[at] ?? 0) + (value - (mean[at] ?? 0)) / (before + 1);
        counts[at] = before + 1;
      }
    }
    return mean;
  };
  return { humidityPct: column('humidityPct'), temperatureC: column('temperatureC') };
}
