/** What a storm left on the shelf, counted; and the line, and the table of `npm run soak`, that says so. */
import { appendFileSync } from 'node:fs';
import { expect } from 'vitest';
import type { TimeSeries } from '../../ingest/index.ts';
import type { Storm } from './storm.ts';

export type Sent = Pick<Storm, 'sent' | 'sampleOf' | 'acknowledged'>;

export interface Counts {
  /** Readings sent at least once. */
  readonly sent: number;
  readonly acknowledged: number;
  readonly stored: number;
  /** Acknowledged, and not stored with its value. */
  readonly lost: number;
  /** On the shelf more than once. */
  readonly doubled: number;
}

/** @throws where the shelf holds what nobody sent, or its roll-ups do not count what it holds */
export async function countShelf(store: TimeSeries, storm: Sent): Promise<Counts> {
  const { series } = await store.changedSince(null);
  const bySensor = new Map<string, Map<number, { value: number; acknowledged: boolean }>>();
  for (let number = 0; number < storm.sent; number += 1) {
    const { sensor, timeMs, humidityPct } = storm.sampleOf(number);
    const own = bySensor.get(sensor) ?? new Map<number, { value: number; acknowledged: boolean }>();
    bySensor.set(sensor, own);
    const before = own.get(timeMs)?.acknowledged ?? false;
    own.set(timeMs, { value: humidityPct, acknowledged: before || storm.acknowledged.has(number) });
  }
  const counts = { sent: 0, acknowledged: 0, stored: 0, lost: 0, doubled: 0 };
  for (const [sensor, samples] of bySensor) {
    const id = series.find((one) => one.id.sensor === sensor)?.id ?? { organisation: 'nobody', sensor };
    const { timesMs, humidityPct } = await store.read(id, 0, 9e12);
    const held = new Map(timesMs.map((timeMs, at) => [timeMs, humidityPct[at]]));
    counts.sent += samples.size;
    counts.stored += held.size;
    counts.doubled += timesMs.length - held.size;
    for (const [timeMs, { value, acknowledged }] of samples) {
      if (!acknowledged) continue;
      counts.acknowledged += 1;
      if (held.get(timeMs) !== value) counts.lost += 1;
    }
    for (const [timeMs, value] of held) {
      if (samples.get(timeMs)?.value !== value) expect.fail(`${sensor} holds ${value} at ${timeMs}`);
    }
    const { count } = (await store.buckets(id, 0, 9e12, 3_600_000)).humidityPct;
    expect(count.reduce((sum, hour) => sum + hour, 0)).toBe(timesMs.length);
  }
  return counts;
}

/** Says it, keeps it for the table, and fails where anything is lost or doubled. */
export function tellFault(
  fault: string,
  { sent, acknowledged, stored, lost, doubled }: Counts,
  more = '',
): void {
  const line = { fault, sent, acknowledged, stored, lost, doubled, more };
  console.log(
    `${fault}: ${sent} sent, ${acknowledged} acknowledged, ${stored} stored, ${lost} lost, ${doubled} doubled${more && `; ${more}`}`,
  );
  if (process.env.SOAK_TABLE) appendFileSync(process.env.SOAK_TABLE, `${JSON.stringify(line)}\n`);
  expect([lost, doubled]).toEqual([0, 0]);
}
