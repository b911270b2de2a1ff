/**
 * Keeps the hours of each series beside its readings, and the journal short. One process does it, the one that owns the
 * data folder: of two, the one that looked earlier could overwrite the other's newer hours. Hours are rewritten whole
 * from the earliest that may have changed, so that doing it twice changes nothing; the cursor is written after them, so
 * that a kill in between is made good by the next round.
 */
import { setTimeout as pause } from 'node:timers/promises';
import { type Log, silent } from '../log.ts';
import type { SeriesId } from '../reading.ts';
import { createChanges } from './influx-changes.ts';
import { tagOf } from './influx-series.ts';
import {
  type InfluxPlace,
  type InfluxPoint,
  type InfluxTable,
  type InfluxWire,
  openWire,
  PartialWrite,
} from './influx-wire.ts';

export const hourMs = 3_600_000;
const everyMs = 60_000;
const pruneEveryMs = 24 * hourMs;
/** A reader of the changes that comes back after longer than this starts over. */
const journalMs = 30 * 24 * hourMs;
const hoursAtOnce = 5_000;
const seriesAtOnce = 50;
/** What begins within these hours is recent; 50 series of them fill one request. */
const lateHours = 100;

export interface HourKeeper {
  /** One round, now. */
  keep(): Promise<void>;
  /** Drops the journal's lines that are older than any reader may need. */
  prune(nowMs: number): Promise<void>;
  stop(): Promise<void>;
}

/** How far hours were kept; null: never. */
export async function keptCursor(ask: InfluxWire['ask']): Promise<string | null> {
  const [table] = await ask('SELECT "cursor" FROM kept ORDER BY time DESC LIMIT 1', 'exact');
  const cursor = table?.values[0]?.[1];
  return typeof cursor === 'string' ? cursor : null;
}

const fields = [
  ...['h_count', 'h_sum', 'h_min', 'h_max'],
  ...['t_count', 't_sum', 't_min', 't_max'],
] as const;

function hoursIn({ tags, values: rows }: InfluxTable): InfluxPoint[] {
  return rows.flatMap(([timeMs, ...values]): InfluxPoint[] => {
    const held = fields.flatMap((name, at) => {
      const value = values[at];
      return typeof value === 'number' ? [[name, value] as const] : [];
    });
    if (typeof timeMs !== 'number' || held.length === 0) return [];
    return [{ measurement: 'hour', series: tags.sensor ?? '', fields: Object.fromEntries(held), timeMs }];
  });
}

/** @param log is told when a round fails; the next one makes it good */
export function startHourKeeper(
  place: InfluxPlace,
  { log = silent, wait = everyMs }: { log?: Log; wait?: number } = {},
): HourKeeper {
  const wire = openWire(place);
  const changes = createChanges(wire.ask);
  const stopping = new AbortController();

  /**
   * In pieces with an end of their own: without one the engine works through all that follows, each time. No reading
   * is further ahead than the checks before the store let through.
   */
  async function keepFrom(tags: readonly string[], fromMs: number): Promise<void> {
    const which = tags.map((tag) => `sensor = '${tag}'`).join(' OR ');
    const step = hoursAtOnce * hourMs;
    const endMs = Date.now() + 24 * hourMs;
    for (let from = Math.floor(Math.max(0, fromMs) / hourMs) * hourMs; from < endMs; from += step) {
      const tables = await wire.ask(
        `SELECT count(humidity), sum(humidity), min(humidity), max(humidity),
           count(temperature), sum(temperature), min(temperature), max(temperature)
         FROM reading WHERE (${which}) AND time >= ${from}ms AND time < ${Math.min(endMs, from + step)}ms
         GROUP BY time(1h), sensor fill(none)`,
        'ms',
      );
      const points = tables.flatMap(hoursIn);
      if (points.length === 0) continue;
      await wire.write(points).catch((error) => {
        // Hours older than the engine's retention are as gone as their readings.
        if (!(error instanceof PartialWrite)) throw error;
      });
    }
  }

  /** Series with the newest hours only go together: most do, and a question each would be thousands a minute. */
  async function keepAll(
    series: readonly { readonly id: SeriesId; readonly fromMs: number }[],
  ): Promise<void> {
    const lateMs = Date.now() - lateHours * hourMs;
    const recent = series.filter(({ fromMs }) => fromMs >= lateMs);
    for (let at = 0; at < recent.length && !stopping.signal.aborted; at += seriesAtOnce) {
      const some = recent.slice(at, at + seriesAtOnce);
      await keepFrom(
        some.map(({ id }) => tagOf(id)),
        Math.min(...some.map(({ fromMs }) => fromMs)),
      );
    }
    for (const { id, fromMs } of series) {
      if (fromMs < lateMs && !stopping.signal.aborted) await keepFrom([tagOf(id)], fromMs);
    }
  }

  async function round(): Promise<void> {
    const before = await keptCursor(wire.ask);
    const { cursor, series } = await changes.changedSince(before);
    if (series.length === 0 && cursor === before) return;
    await keepAll(series);
    if (stopping.signal.aborted) return;
    if (cursor !== 'none') await wire.write([{ measurement: 'kept', series: 'hours', fields: { cursor } }]);
  }

  /** Rounds never overlap: the earlier one would overwrite what the later one found. */
  let last: Promise<void> = Promise.resolve();
  function keep(): Promise<void> {
    last = last.catch(() => {}).then(round);
    return last;
  }

  async function prune(nowMs: number): Promise<void> {
    const newest = await changes.newest();
    if (newest === null) return;
    // The newest arrival stays however old it is, with the minutes before it: cursors point there.
    const before = Math.min(nowMs - journalMs, Date.parse(newest) - hourMs);
    for (const measurement of ['arrived', 'kept']) {
      await wire.change(`DELETE FROM ${measurement} WHERE time < '${new Date(before).toISOString()}'`);
    }
  }

  async function run(): Promise<void> {
    let pruneAtMs = 0;
    while (!stopping.signal.aborted) {
      try {
        await keep();
        if (Date.now() >= pruneAtMs) {
          await prune(Date.now());
          pruneAtMs = Date.now() + pruneEveryMs;
        }
      } catch (error) {
        log.warn({ err: error }, 'hours could not be kept; charts are read from the readings until they can');
      }
      await pause(wait, undefined, { signal: stopping.signal, ref: false }).catch(() => {});
    }
  }

  const running = run();
  return {
    keep,
    prune,
    stop() {
      stopping.abort();
      return running;
    },
  };
}
