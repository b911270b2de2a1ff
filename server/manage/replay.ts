/**
 * Runs the watch over stored history with proposed settings and prints what would have been said. The real watch, on a
 * copy of the records, under a clock that moves in steps; the readings after it are hidden. Nothing of it is kept.
 */
import { mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import path from 'node:path';
import { sql } from 'kysely';
import type { TimeSeries } from '../../ingest/index.ts';
import { settingsBody } from '../contract/index.ts';
import { type Database, openRecords } from '../db/database.ts';
import { firstOrganisation } from '../registry/organisations.ts';
import { sensorRows } from '../registry/sensors.ts';
import type { Viewer } from '../registry/viewer.ts';
import { dayMs } from '../series/board-run.ts';
import { hourMs } from '../series/climate.ts';
import { notices } from '../watch/notices.ts';
import { watchQuality } from '../watch/quality-store.ts';
import { putSettings } from '../watch/settings.ts';
import { startWatch } from '../watch/watch-loop.ts';
import type { Command } from './command.ts';

const never = 2 ** 31 - 1;
/** Rules about air are asked of every hour whatever the step; what rests on the daily look and the clock, once a step. */
const stepMs = 6 * hourMs;
/** What the watch itself made: forgotten in the copy. */
const made = [
  ...['notice', 'notice_event', 'watch_state', 'watch_day', 'outlook', 'sensor_condition', 'standing'],
  ...['board_day', 'board_state', 'watermark', 'call_done', 'call_choice', 'drift_interval', 'drift_fit'],
] as const;

/** The store as it was at a time: nothing after it is told. */
function hiding(
  store: TimeSeries,
  organisation: string,
  urns: readonly string[],
  now: () => number,
): TimeSeries {
  return {
    ...store,
    read: (id, fromMs, toMs) => store.read(id, fromMs, Math.min(toMs, now())),
    buckets: (id, fromMs, toMs, widthMs) => store.buckets(id, fromMs, Math.min(toMs, now()), widthMs),
    async changedSince(cursor) {
      const sinceMs = cursor === null ? now() - 3 * dayMs : Number(cursor);
      const series = urns.map((sensor) => ({
        id: { organisation, sensor },
        fromMs: Math.floor(sinceMs / hourMs) * hourMs,
      }));
      return { cursor: String(now()), series };
    },
  };
}

function dayOption(name: string, text: string | undefined): number {
  const ms = Date.parse(text ?? '');
  if (!Number.isFinite(ms)) throw new Error(`--${name}: must be a day such as 2026-01-31`);
  return ms;
}

export const replay: Command = async ({ db, store }, _words, options) => {
  const fromMs = dayOption('from', options.from);
  const toMs = Math.min(Date.now(), dayOption('to', options.to));
  if (fromMs >= toMs) throw new Error('--from: must be before --to');
  const proposed = options.settings
    ? settingsBody.parse({ values: JSON.parse(readFileSync(options.settings, 'utf8')) })
    : null;
  const folder = mkdtempSync(path.join(tmpdir(), 'crownwatch-replay-'));
  try {
    await play(folder);
  } finally {
    rmSync(folder, { recursive: true, force: true });
  }

  async function play(into: string): Promise<void> {
    const file = path.join(into, 'records.db');
    // A copy that is whole while the service goes on writing.
    await sql`VACUUM INTO ${file}`.execute(db);
    const copy = await openRecords(file);
    try {
      for (const table of made) await copy.deleteFrom(table).execute();
      await copy.updateTable('sensor').set({ last_ms: null, battery_pct: null, interval_ms: null }).execute();
      const viewer = await firstOrganisation(copy, fromMs);
      if (proposed) await putSettings(copy, viewer, 'organisation', viewer.organisationId, proposed.values);
      const urns = (await sensorRows(copy, viewer)).map((one) => one.urn);
      let nowMs = fromMs;
      const log = {
        info() {},
        error: (fields: object, message: string) =>
          void process.stderr.write(`${message} ${JSON.stringify(fields)}\n`),
      };
      const past = hiding(store, viewer.organisationId, urns, () => nowMs);
      const watch = startWatch({ db: copy, store: past, now: () => nowMs, log }, never);
      for (; nowMs < toMs; nowMs += stepMs) await watch.tick();
      await watch.stop();
      await print(copy, viewer, fromMs, toMs);
    } finally {
      await copy.destroy();
    }
  }
};

const day = (ms: number): string => new Date(ms).toISOString().slice(0, 10);

/** What would have been said, oldest first, and the figures. What is told under a venue-wide notice is not repeated. */
async function print(db: Database, viewer: Viewer, fromMs: number, toMs: number): Promise<void> {
  const all = (await notices(db, viewer, { over: true })).filter((one) => one.partOf === null);
  const lines = all
    .toSorted((a, b) => a.beganMs - b.beganMs)
    .map(
      (one) =>
        `${day(one.beganMs)} to ${one.overMs ? day(one.overMs) : 'still open'}  ${one.rule}  ${one.place}: ${one.what}`,
    );
  const days = Math.max(1, Math.round((toMs - fromMs) / dayMs));
  // What had begun before the window is said in it.
  const quality = await watchQuality(db, viewer, days + 60, toMs);
  const perMonth = (all.length * 30.44) / (days * Math.max(1, quality.instruments));
  process.stdout.write(
    [
      ...lines,
      '',
      `instruments: ${quality.instruments}`,
      `days: ${days}`,
      `notices: ${all.length}`,
      `notices per instrument-month: ${perMonth.toFixed(2)}`,
      ...quality.byRule.map((one) => `  ${one.rule}: ${one.count}`),
      `begun again within a week: ${quality.flapping.reduce((sum, one) => sum + one.count, 0)}`,
      '',
    ].join('\n'),
  );
}
