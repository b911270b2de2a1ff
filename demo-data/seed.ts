/** Fills an empty data folder with the invented past, and later the gap since the last run. */

import path from 'node:path';
import { openReadings } from '../ingest/index.ts';
import { seedRecords } from '../server/seed.ts';
import { expectedReadings, generate, readingsBetween } from './generate.ts';
import { world } from './world.ts';
import { clearForSeeding, type GatewayFile, type WorldFile, writeGateway, writeWorld } from './world-file.ts';

const seedName = 'thrushcombe';
const months = 18;

export type Progress = (done: number, expected: number) => void;

const readingsFile = (dataDir: string): string => path.join(dataDir, 'readings.db');

/** @throws Error with one sentence where the folder cannot be used. */
export async function seedFolder(dataDir: string, nowMs: number, progress: Progress): Promise<void> {
  const here = world({ seed: seedName, endMs: nowMs, months });
  const { anchor } = here;
  const expected = expectedReadings(here);
  const begun: WorldFile = { seeded: false, organisation: '', ...anchor };
  clearForSeeding(dataDir, begun);
  progress(0, expected);
  const demo = generate(anchor);
  const { organisation, gateway } = await seedRecords(dataDir, demo.records, nowMs);
  const store = openReadings(readingsFile(dataDir));
  try {
    let done = 0;
    for (const batch of demo.readings(organisation)) {
      await store.append(batch);
      done += batch.length;
      progress(done, expected);
    }
    progress(expected, expected);
  } finally {
    await store.stop();
  }
  writeGateway(dataDir, { user: gateway.user, password: gateway.password, sentUntilMs: anchor.endMs });
  writeWorld(dataDir, { ...begun, seeded: true, organisation });
}

/** Goes on with the same world from where its gateway last sent until now. @returns how many readings that were. */
export async function fillGap(
  dataDir: string,
  kept: WorldFile,
  gateway: GatewayFile,
  nowMs: number,
): Promise<number> {
  const store = openReadings(readingsFile(dataDir));
  let filled = 0;
  try {
    for (const batch of readingsBetween(world(kept), kept.organisation, gateway.sentUntilMs, nowMs)) {
      await store.append(batch);
      filled += batch.length;
    }
  } finally {
    await store.stop();
  }
  writeGateway(dataDir, { ...gateway, sentUntilMs: nowMs });
  return filled;
}
