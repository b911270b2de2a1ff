/**
 * The watch over the demo's past, on a seed of its own: few words, every planted fault among them, and none of the homes
 * in which nothing is wrong. Two months of half a year here; all 18 months by `npm run soak`.
 */
import path from 'node:path';
import { expect, test } from 'vitest';
import { dayMs } from '../../demo-data/clock.ts';
import type { Fault } from '../../demo-data/faults.ts';
import { generate } from '../../demo-data/generate.ts';
import { quietHomes, rooms, venues } from '../../demo-data/scenario.ts';
import { openReadings } from '../../ingest/index.ts';
import type { Notice, RuleName } from '../../server/contract/index.ts';
import { linesOf, replayOver } from '../../server/manage/replay.ts';
import { seedRecords } from '../../server/seed.ts';
import { openStores } from '../../server/services.ts';
import { temporaryFolder } from '../support/service.ts';

const full = process.env.CROWNWATCH_FULL !== undefined;
const seed = process.env.REPLAY_SEED ?? 'quillbrook';
const endMs = Date.UTC(2026, 10, 25, 10);
const mostPerInstrumentMonth = 1.5;

/** What may tell of a fault, within so many days of its beginning. */
const tells: Readonly<Record<Fault['kind'], { readonly rules: readonly RuleName[]; readonly days: number }>> =
  {
    'tank dry': { rules: ['control-lost'], days: 25 },
    unplugged: { rules: ['control-lost'], days: 45 },
    'battery flat': { rules: ['sensor-silent'], days: 1 },
    stuck: { rules: ['sensor-stuck'], days: 3 },
    damp: { rules: ['action-wet', 'rust', 'board-wet', 'mould'], days: 21 },
    gap: { rules: ['sensor-silent'], days: 1 },
  };

const venueName = (key: string): string => venues.find((one) => one.key === key)?.name ?? key;
const roomPlace = (key: string): string => {
  const room = rooms.find((one) => one.key === key);
  return room ? `${venueName(room.venue)} · ${room.name}` : key;
};
/** Rooms of the demo are called as their instruments are, but for those with two. */
const placeOf = (fault: Fault): string => {
  if ('venue' in fault) return venueName(fault.venue);
  if ('room' in fault) return roomPlace(fault.room);
  if ('sensor' in fault) return roomPlace(fault.sensor.split('/')[0] ?? '');
  return roomPlace(fault.instrument.replace(/-[ab]$/, ''));
};

test(`${full ? 18 : 2} months of the demo: few notices, all that was planted, nothing of the quiet homes`, {
  timeout: full ? 3_600_000 : 900_000,
}, async () => {
  const folder = temporaryFolder();
  try {
    // A humidity control is judged against its own past: the shorter look has a year of it before.
    const months = full ? 18 : 12;
    const demo = generate({ seed, endMs, months });
    const { organisation } = await seedRecords(folder.path, demo.records, endMs);
    const store = openReadings(path.join(folder.path, 'readings.db'));
    for (const batch of demo.readings(organisation)) await store.append(batch);
    await store.stop();
    const stores = await openStores(folder.path);
    const fromMs = full ? demo.world.startMs : endMs - 62 * dayMs;
    const told = await replayOver(stores, { fromMs, toMs: endMs });
    await stores.stop();
    console.log(linesOf(told).slice(told.notices.length).join('\n'));

    expect(told.notices.length).toBeGreaterThan(20);
    expect(told.perInstrumentMonth).toBeLessThanOrEqual(mostPerInstrumentMonth);

    const planted = demo.world.faults.filter((one) => one.fromMs >= fromMs && one.fromMs < endMs);
    expect(planted.length).toBeGreaterThanOrEqual(full ? 12 : 6);
    const missed = planted.filter((fault) => !told.notices.some((one) => tellsOf(one, fault)));
    expect(missed.map((one) => `${one.kind} at ${placeOf(one)}`)).toEqual([]);

    // A gap planted in a quiet home is told; nothing else is to be said of it.
    const quiet = told.notices
      .filter((one) => quietHomes.some((home) => one.place.startsWith(venueName(home))))
      .filter((one) => !planted.some((fault) => tellsOf(one, fault)));
    expect(quiet.map((one) => `${one.rule} at ${one.place}: ${one.what}`)).toEqual([]);
  } finally {
    folder.remove();
  }
});

function tellsOf(notice: Notice, fault: Fault): boolean {
  const { rules, days } = tells[fault.kind];
  const afterMs = notice.beganMs - fault.fromMs;
  return (
    rules.includes(notice.rule) &&
    notice.place.startsWith(placeOf(fault)) &&
    afterMs > -dayMs / 2 &&
    afterMs < days * dayMs
  );
}
