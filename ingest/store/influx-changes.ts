/**
 * What arrived since a cursor, from the journal: a line `arrived` for each series that a write touched, at the engine's
 * own time, with the earliest time the write touched. Old lines are pruned (`influx-hours.ts`); a cursor that points
 * before them starts over.
 */
import type { SeriesId } from '../reading.ts';
import { seriesOf, tagOf } from './influx-series.ts';
import type { InfluxTable, InfluxWire } from './influx-wire.ts';
import type { TimeSeries } from './time-series.ts';

/**
 * A request that arrived earlier may show later: by as much as the engine's own write time-out (10 s), or as it was
 * frozen in between. Looking this far back costs one count.
 */
const overlap = '10m';

export interface Changes {
  readonly changedSince: TimeSeries['changedSince'];
  /** From when on one series may have changed since the cursor; null: it has not. */
  changedFrom(id: SeriesId, cursor: string): Promise<number | null>;
  /** The engine's time of the newest arrival, as it writes it; null: none yet. */
  newest(): Promise<string | null>;
}

export function createChanges(ask: InfluxWire['ask']): Changes {
  const firstCell = ([table]: InfluxTable[], column: number): unknown => table?.values[0]?.[column];
  const arrivals = async (where: string): Promise<number> => {
    const count = firstCell(await ask(`SELECT count("from") FROM arrived WHERE ${where}`, 'exact'), 1);
    return typeof count === 'number' ? count : 0;
  };
  const lately = (top: string): string => `time > '${top}' - ${overlap} AND time <= '${top}'`;

  async function newest(): Promise<string | null> {
    const top = firstCell(await ask('SELECT "from" FROM arrived ORDER BY time DESC LIMIT 1', 'exact'), 0);
    return typeof top === 'string' ? top : null;
  }

  /** As a condition on arrivals; null: the cursor means nothing here, so that everything counts. */
  async function after(cursor: string | null): Promise<string | null> {
    const [, top, countThen] = /^(\d{4}-[\dT:.-]+Z)\/(\d+)$/.exec(cursor ?? '') ?? [];
    // A cursor of another database points at nothing here, and one of a restored backup beyond its end.
    if (top === undefined || (await arrivals(`time = '${top}'`)) === 0) return null;
    const same = (await arrivals(lately(top))) === Number(countThen);
    return same ? `time > '${top}' AND` : `time > '${top}' - ${overlap} AND`;
  }

  /** Every series, from its first reading on: the journal does not reach back so far. */
  async function everything(where = ''): Promise<Map<string, number>> {
    const earliest = new Map<string, number>();
    for (const field of ['humidity', 'temperature', 'battery']) {
      const tables = await ask(`SELECT first(${field}) FROM reading ${where} GROUP BY sensor`, 'ms');
      for (const { tags, values } of tables) {
        const time = values[0]?.[0];
        if (typeof time !== 'number') continue;
        const sensor = tags.sensor ?? '';
        earliest.set(sensor, Math.min(time, earliest.get(sensor) ?? time));
      }
    }
    return earliest;
  }

  async function journalled(where: string): Promise<Map<string, number>> {
    const tables = await ask(`SELECT min("from") FROM arrived WHERE ${where} GROUP BY sensor`, 'exact');
    return new Map(
      tables.flatMap(({ tags, values }) => {
        const fromMs = values[0]?.[1];
        return typeof fromMs === 'number' ? [[tags.sensor ?? '', fromMs] as const] : [];
      }),
    );
  }

  return {
    newest,
    /**
     * The cursor is the engine's time of the newest arrival, and how many arrived in the minutes up to it. If that
     * count has grown by the next time, an earlier one has come to show, and those minutes are told again.
     *
     * In this order: an arrival that shows between the count and the list is told now or makes the next count differ.
     */
    async changedSince(cursor) {
      const top = await newest();
      if (top === null) return { cursor: 'none', series: [] };
      const count = await arrivals(lately(top));
      const since = await after(cursor);
      const earliest = since === null ? await everything() : await journalled(`${since} time <= '${top}'`);
      const series = [...earliest].flatMap(([tag, fromMs]) => {
        const id = seriesOf(tag);
        return id ? [{ id, fromMs }] : [];
      });
      return { cursor: `${top}/${count}`, series };
    },
    async changedFrom(id, cursor) {
      const since = await after(cursor);
      const sensor = `sensor = '${tagOf(id)}'`;
      const earliest =
        since === null ? await everything(`WHERE ${sensor}`) : await journalled(`${since} ${sensor}`);
      return earliest.get(tagOf(id)) ?? null;
    },
  };
}
