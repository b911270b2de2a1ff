/**
 * Speed of the watch: one new hour of readings every ten minutes for a whole fleet, judged on the embedded store, and
 * whether the time of an instrument grows with the length of its history. Targets: 1 s for 10,000 instruments, 400 MB.
 * Beside it, in the same run, the bare reads and writes such a step cannot do without.
 */
import { randomUUID } from 'node:crypto';
import type { Reading } from '../../ingest/index.ts';
import { boundHeap } from '../../server/heap.ts';
import { firstOrganisation } from '../../server/registry/organisations.ts';
import type { Viewer } from '../../server/registry/viewer.ts';
import { openStores, type Stores } from '../../server/services.ts';
import { startWatch } from '../../server/watch/watch-loop.ts';
import { instrumentBody } from '../support/api.ts';
import { temporaryFolder } from '../support/service.ts';

const hourMs = 3_600_000;
const dayMs = 24 * hourMs;
const never = 2 ** 31 - 1;
const targetMs = 1000;
const targetMb = 400;

interface Fleet {
  readonly stores: Stores;
  readonly viewer: Viewer;
  readonly urns: readonly string[];
  stop(): Promise<void>;
}

async function fleet(count: number, startMs: number): Promise<Fleet> {
  const folder = temporaryFolder();
  const stores = await openStores(folder.path);
  const { db } = stores;
  const viewer = await firstOrganisation(db, startMs);
  const organisation_id = viewer.organisationId;
  const urns: string[] = [];
  await db.transaction().execute(async (trx) => {
    let venueId = '';
    for (let i = 0; i < count; i++) {
      if (i % 100 === 0) {
        venueId = randomUUID();
        await trx
          .insertInto('venue')
          .values({ id: venueId, organisation_id, name: `Venue ${i / 100}`, time_zone: 'Europe/Vienna' })
          .execute();
      }
      const [roomId, id, sensorId] = [randomUUID(), randomUUID(), randomUUID()];
      const { sizeCm, pitchStandardHz, board, ...plain } = instrumentBody;
      await trx
        .insertInto('room')
        .values({
          id: roomId,
          organisation_id,
          venue_id: venueId,
          name: `Room ${i}`,
          volume_m3: 60,
          air_changes_per_hour: 0.5,
          wished_low_pct: 38,
          wished_high_pct: 52,
        })
        .execute();
      await trx
        .insertInto('instrument')
        .values({
          ...plain,
          id,
          organisation_id,
          room_id: roomId,
          size_cm: sizeCm,
          pitch_standard_hz: pitchStandardHz,
          board: JSON.stringify(board),
        })
        .execute();
      const urn = `urn:dev:ow:${i.toString(16).padStart(12, '0')}`;
      urns.push(urn);
      await trx
        .insertInto('sensor')
        .values({ id: sensorId, organisation_id, urn, first_seen_ms: startMs })
        .execute();
      await trx
        .insertInto('placement')
        .values({
          id: randomUUID(),
          organisation_id,
          sensor_id: sensorId,
          spot: 'room',
          room_id: roomId,
          from_ms: startMs - 900 * dayMs,
        })
        .execute();
    }
  });
  return {
    stores,
    viewer,
    urns,
    async stop() {
      await stores.stop();
      folder.remove();
    },
  };
}

async function measure(
  { stores, viewer, urns }: Fleet,
  fromMs: number,
  toMs: number,
  stepMs: number,
): Promise<void> {
  let batch: Reading[] = [];
  for (const [i, sensor] of urns.entries()) {
    for (let timeMs = fromMs; timeMs < toMs; timeMs += stepMs) {
      const day = (2 * Math.PI * timeMs) / dayMs;
      const humidityPct = 44 + 2 * Math.sin(day + i) + (i % 7);
      batch.push({
        organisation: viewer.organisationId,
        sensor,
        timeMs,
        humidityPct,
        temperatureC: 20 + Math.sin(day),
      });
      if (batch.length >= 10_000) {
        await stores.store.append(batch);
        batch = [];
      }
    }
  }
  await stores.store.append(batch);
}

function clockedWatch(of: Fleet, startMs: number) {
  let nowMs = startMs;
  const cpuMs: number[] = [];
  const log = {
    info() {},
    error(fields: object, message: string) {
      console.error(message, fields);
      process.exitCode = 1;
    },
  };
  const { db, store } = of.stores;
  const watch = startWatch({ db, store, now: () => nowMs, log }, never);
  return {
    watch,
    async hour(): Promise<number> {
      await measure(of, nowMs - 6 * 60_000, nowMs + hourMs - 6 * 60_000, 10 * 60_000);
      nowMs += hourMs;
      globalThis.gc?.();
      const begun = performance.now();
      const cpu = process.cpuUsage();
      await watch.tick();
      const { user, system } = process.cpuUsage(cpu);
      cpuMs.push((user + system) / 1000);
      return performance.now() - begun;
    },
    cpuMs,
  };
}

/** Prepared reads of one hour a sensor, and one row of state a piano written and committed: nothing is worked out. */
async function bareStep({ stores, viewer, urns }: Fleet, hourStartMs: number): Promise<number> {
  const begun = performance.now();
  for (const sensor of urns) {
    const id = { organisation: viewer.organisationId, sensor };
    await stores.store.buckets(id, hourStartMs, hourStartMs + hourMs, hourMs);
  }
  const rows = await stores.db.selectFrom('watch_state').selectAll().execute();
  for (let i = 0; i < rows.length; i += 200) {
    await stores.db
      .insertInto('watch_state')
      .values(rows.slice(i, i + 200))
      .onConflict((conflict) =>
        conflict.column('instrument_id').doUpdateSet((eb) => ({ state: eb.ref('excluded.state') })),
      )
      .execute();
  }
  return performance.now() - begun;
}

const median = (values: readonly number[]): number =>
  [...values].sort((a, b) => a - b)[values.length >> 1] ?? Number.NaN;
const startMs = Date.parse('2026-01-12T00:06:00Z');

async function wholeFleet(count: number): Promise<void> {
  const all = await fleet(count, startMs);
  await measure(all, startMs - 30 * hourMs - 6 * 60_000, startMs - 6 * 60_000, hourMs);
  const clocked = clockedWatch(all, startMs);
  const begun = performance.now();
  await clocked.watch.tick();
  const firstS = (performance.now() - begun) / 1000;
  const hours: number[] = [];
  for (let i = 0; i < 7; i++) hours.push(await clocked.hour());
  const bare = await bareStep(all, startMs);
  const rssMb = process.memoryUsage().rss / 1e6;
  const hour = median(hours);
  console.log(`  ${count} instruments, first look at all of them: ${firstS.toFixed(1)} s`);
  console.log(`  a new hour of readings for each: ${hours.map((ms) => ms.toFixed(0)).join(', ')} ms`);
  console.log(
    `  median ${hour.toFixed(0)} ms (target ${targetMs}), ${(hour / bare).toFixed(1)} times the bare reads and writes (${bare.toFixed(0)} ms)`,
  );
  console.log(
    `  median of its processor time ${median(clocked.cpuMs).toFixed(0)} ms; the rest waits for the disk and for others`,
  );
  console.log(`  memory ${rssMb.toFixed(0)} MB (target ${targetMb})`);
  if (hour > targetMs || rssMb > targetMb) process.exitCode = 1;
  await clocked.watch.stop();
  await all.stop();
}

/** A tenth of growth is what the noise of a shared machine makes. */
async function byHistory(count: number): Promise<void> {
  const each: { months: number; ms: number }[] = [];
  for (const months of [1, 24]) {
    const some = await fleet(count, startMs);
    await measure(some, startMs - months * 30 * dayMs - 6 * 60_000, startMs - 6 * 60_000, hourMs);
    const clocked = clockedWatch(some, startMs);
    await clocked.watch.tick();
    const hours: number[] = [];
    for (let i = 0; i < 15; i++) hours.push(await clocked.hour());
    each.push({ months, ms: median(hours) });
    await clocked.watch.stop();
    await some.stop();
  }
  const [short, long] = each;
  for (const { months, ms } of each) {
    console.log(
      `  ${months} months of history: ${((1000 * ms) / count).toFixed(0)} µs an instrument and hour`,
    );
  }
  const ratio = (long?.ms ?? Number.NaN) / (short?.ms ?? Number.NaN);
  console.log(`  ratio ${ratio.toFixed(2)} (target at most 1.3)`);
  if (!(ratio <= 1.3)) process.exitCode = 1;
}

// As the service does.
boundHeap();
await wholeFleet(Number(process.env.WATCH_BENCH ?? 10_000));
if (!process.env.WATCH_BENCH) await byHistory(100);
