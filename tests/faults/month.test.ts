/** A gateway that was away for a month sends what it kept, in any order, some of it twice. */
import path from 'node:path';
import { afterEach, expect, test } from 'vitest';
import { openReadings } from '../../ingest/index.ts';
import { addGateway, startService, temporaryFolder } from '../support/service.ts';
import { countShelf, tellFault } from './shelf.ts';
import { type Sample, Storm } from './storm.ts';

const everyMs = 300_000;
const samples = (30 * 86_400_000) / everyMs;
const sensors = process.env.CROWNWATCH_FULL ? 10 : 1;
const all = samples * sensors;
const startMs = Date.UTC(2025, 2, 1);

const undo: (() => unknown)[] = [];
afterEach(async () => {
  for (const one of undo.splice(0).reverse()) await one();
});

/** Same by seed. mulberry32, a few lines in the public domain; from memory. */
function shuffled(count: number, seed: number): number[] {
  let state = seed;
  const random = (): number => {
    state = (state + 0x6d2b79f5) | 0;
    let mixed = Math.imul(state ^ (state >>> 15), 1 | state);
    mixed = (mixed + Math.imul(mixed ^ (mixed >>> 7), 61 | mixed)) ^ mixed;
    return ((mixed ^ (mixed >>> 14)) >>> 0) / 4_294_967_296;
  };
  const order = Array.from({ length: count }, (_, at) => at);
  for (let at = count - 1; at > 0; at -= 1) {
    const other = Math.floor(random() * (at + 1));
    [order[at], order[other]] = [order[other] ?? 0, order[at] ?? 0];
  }
  return order;
}

test(`a month of ${sensors} sensors in random order`, { timeout: 600_000 }, async () => {
  const folder = temporaryFolder();
  undo.push(folder.remove);
  const { user, password } = addGateway(folder.path, 'attic');
  const service = await startService(folder.path);
  undo.push(() => service.kill('SIGTERM'));
  const twice = Math.round(all / 10);
  const order = [...shuffled(all, 7), ...shuffled(all, 8).slice(0, twice)];
  const sampleOf = (number: number): Sample => {
    const at = order[number] ?? 0;
    return {
      sensor: `urn:dev:mac:02000000${String(at % sensors).padStart(4, '0')}`,
      timeMs: startMs + Math.floor(at / sensors) * everyMs,
      humidityPct: (3_000 + (at % 3_001)) / 100,
    };
  };
  const storm = new Storm(sampleOf, order.length);
  await storm.untilAll(() => ({ port: service.mqttPort, user, password }));
  await service.kill('SIGTERM');
  const store = openReadings(path.join(folder.path, 'readings.db'));
  const counts = await countShelf(store, storm);
  // Hour by hour it holds what was sent, whatever the order was.
  for (let sensor = 0; sensor < sensors; sensor += 1) {
    const { series } = await store.changedSince(null);
    const { sensor: urn } = sampleOf(order.indexOf(sensor));
    const id = series.find((one) => one.id.sensor === urn)?.id ?? { organisation: '', sensor: urn };
    const hours = await store.buckets(id, 0, 9e12, 3_600_000);
    const expected = Array.from({ length: samples / 12 }, (_, hour) => {
      const values = Array.from(
        { length: 12 },
        (_unused, at) => 3_000 + (((hour * 12 + at) * sensors + sensor) % 3_001),
      );
      return values.reduce((sum, value) => sum + value, 0) / 12 / 100;
    });
    expect(hours.humidityPct.mean).toHaveLength(expected.length);
    for (const [hour, mean] of hours.humidityPct.mean.entries()) {
      expect(mean).toBeCloseTo(expected[hour] ?? Number.NaN, 9);
    }
  }
  await store.stop();
  tellFault(
    'a month sent in random order',
    counts,
    `${storm.published} messages, ${twice} of them sent twice`,
  );
  expect(counts.stored).toBe(all);
});
