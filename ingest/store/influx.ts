/**
 * InfluxDB as the store of readings. One point per reading, values as whole hundredths: fields written at another time
 * join it, so humidity and temperature that come apart meet. What this engine cannot keep stands in `time-series.ts`.
 */
import { grouped } from '../group.ts';
import { type Reading, toHundredths } from '../reading.ts';
import { createNotice, type Noticed } from './influx-noticed.ts';
import { createReader } from './influx-read.ts';
import { tagOf } from './influx-series.ts';
import { type InfluxPlace, type InfluxPoint, openWire, PartialWrite } from './influx-wire.ts';
import { assertStorable } from './storable.ts';
import type { Appended, TimeSeries } from './time-series.ts';

/** Some 600 kB to a request; the engine takes 25 MB. */
const pointsPerRequest = 5_000;
/** Readings remembered to tell a repeated one. */
const remembered = 100_000;

type Point = InfluxPoint & { readonly timeMs: number; readonly fields: Readonly<Record<string, number>> };
interface Written {
  readonly point: Point;
  readonly reading: Reading;
  /** Which batch of the group it belongs to. */
  readonly batch: number;
}

function pointOf(reading: Reading): Point | null {
  const fields: Record<string, number> = {};
  if (reading.humidityPct !== undefined) fields.humidity = toHundredths(reading.humidityPct);
  if (reading.temperatureC !== undefined) fields.temperature = toHundredths(reading.temperatureC);
  if (reading.batteryPct !== undefined) fields.battery = toHundredths(reading.batteryPct);
  if (Object.keys(fields).length === 0) return null;
  return { measurement: 'reading', series: tagOf(reading), fields, timeMs: reading.timeMs };
}

/** One line per series: what arrived may have changed it from there on. */
function arrivalsOf(written: readonly Written[]): InfluxPoint[] {
  const earliest = new Map<string, number>();
  for (const { point } of written) {
    earliest.set(point.series, Math.min(point.timeMs, earliest.get(point.series) ?? point.timeMs));
  }
  return [...earliest].map(([series, from]) => ({ measurement: 'arrived', series, fields: { from } }));
}

/**
 * @param longMs of buckets: from here on kept hours are asked for
 * @throws Error with one sentence when the engine cannot be reached or does not let us in
 */
export async function openInfluxReadings(
  place: InfluxPlace,
  { longMs }: { readonly longMs?: number } = {},
): Promise<TimeSeries> {
  const wire = openWire(place);
  try {
    await wire.prepare();
  } catch (error) {
    const why = error instanceof Error ? error.message || String(Reflect.get(error, 'code')) : String(error);
    throw new Error(`InfluxDB at ${place.origin} cannot be used: ${why}.`);
  }
  const notice = createNotice(remembered);

  /** @returns what the engine dropped, of the oldest on, for it drops what is older than its retention. */
  async function writeReadings(batch: readonly Written[]): Promise<Written[]> {
    const dropped: Written[] = [];
    for (let left = batch; left.length > 0; ) {
      try {
        await wire.write(left.map(({ point }) => point));
        break;
      } catch (error) {
        if (!(error instanceof PartialWrite)) throw error;
        const oldestFirst = left.toSorted((a, b) => a.point.timeMs - b.point.timeMs);
        dropped.push(...oldestFirst.slice(0, error.dropped));
        // Writing the rest again changes nothing where it was stored, and shows that it was.
        left = oldestFirst.slice(error.dropped);
      }
    }
    return dropped;
  }

  async function write(batches: readonly (readonly Reading[])[]): Promise<Appended[]> {
    const all: Written[] = batches.flatMap((batch, at) =>
      batch.flatMap((reading) => {
        const point = pointOf(reading);
        return point ? [{ point, reading, batch: at }] : [];
      }),
    );
    const refused = new Set<Written>();
    for (let from = 0; from < all.length; from += pointsPerRequest) {
      const piece = all.slice(from, from + pointsPerRequest);
      for (const dropped of await writeReadings(piece)) refused.add(dropped);
      const kept = piece.filter((one) => !refused.has(one));
      // After the readings, in a request of its own: whoever sees the arrival finds them, though the engine writes the
      // weeks a batch touches side by side.
      if (kept.length > 0) await wire.write(arrivalsOf(kept));
    }
    const counts = batches.map((): Noticed => ({ stored: 0, duplicates: 0, conflicts: 0 }));
    for (const one of all) {
      const own = counts[one.batch];
      if (refused.has(one) || !own) continue;
      notice(`${one.point.series} ${one.point.timeMs}`, one.point.fields, own);
    }
    const sentence = 'its time is older than the retention set in InfluxDB';
    return counts.map((own, at) => {
      const away = [...refused]
        .filter(({ batch }) => batch === at)
        .map(({ reading }) => ({ reading, sentence }));
      return away.length > 0 ? { ...own, refused: away } : own;
    });
  }

  // Groups never overlap, so that of two values for one key the later one stays.
  const appends = grouped<readonly Reading[], Appended>(
    { mostWeight: 1_000, longestMs: 5, weigh: (batch) => Math.max(1, batch.length) },
    write,
  );

  return {
    conflictKeeps: 'last',
    counts: 'noticed',
    async append(batch) {
      for (const reading of batch) assertStorable(reading);
      if (batch.length === 0) return { stored: 0, duplicates: 0, conflicts: 0 };
      return appends.add(batch);
    },
    ...createReader(wire, longMs),
    stop: () => appends.settle(),
  };
}
