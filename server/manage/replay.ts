/**
 * Runs the watch over stored history with proposed settings and prints what would have been said. The real watch, on a
 * copy of the records, under a clock that moves in steps; the readings after it are hidden. Nothing of it is kept.
 */
import { mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import path from 'node:path';
import { sql } from 'kysely';
import type { TimeSeries } from '../../ingest/index.ts';
import { type Notice, settingsBody } from '../contract/index.ts';
import { type Database, openRecords } from '../db/database.ts';
import type { Records } from '../db/schema.ts';
import { instruments } from '../registry/instruments.ts';
import { firstOrganisation } from '../registry/organisations.ts';
import { sensorRows } from '../registry/sensors.ts';
import type { Viewer } from '../registry/viewer.ts';
import { dayMs } from '../series/board-run.ts';
import { hourMs } from '../series/climate.ts';
import type { Stores } from '../services.ts';
import { notices } from '../watch/notices.ts';
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

export interface Span {
  readonly fromMs: number;
  readonly toMs: number;
}

/** What the watch would have said: notices that stand for themselves, oldest first. */
export interface Said {
  readonly notices: readonly Notice[];
  readonly instruments: number;
  readonly days: number;
  readonly perInstrumentMonth: number;
  /** Of these, began again within a week of their own end. */
  readonly begunAgain: number;
}

/** @param settings proposed for the organisation; null: as they are */
export async function replayOver(
  { db, store }: Pick<Stores, 'db' | 'store'>,
  span: Span,
  settings: Readonly<Record<string, number | null>> | null = null,
): Promise<Said> {
  const folder = mkdtempSync(path.join(tmpdir(), 'crownwatch-replay-'));
  try {
    const file = path.join(folder, 'records.db');
    // A copy that is whole while the service goes on writing.
    await sql`VACUUM INTO ${file}`.execute(db);
    const copy = await openRecords(file);
    try {
      for (const table of made) await copy.deleteFrom(table).execute();
      await copy.updateTable('sensor').set({ last_ms: null, battery_pct: null, interval_ms: null }).execute();
      const viewer = await firstOrganisation(copy, span.fromMs);
      if (settings) await putSettings(copy, viewer, 'organisation', viewer.organisationId, settings);
      await play(copy, store, viewer, span);
      return await said(copy, viewer, span);
    } finally {
      await copy.destroy();
    }
  } finally {
    rmSync(folder, { recursive: true, force: true });
  }
}

async function play(db: Database, store: TimeSeries, viewer: Viewer, { fromMs, toMs }: Span): Promise<void> {
  const urns = (await sensorRows(db, viewer)).map((one) => one.urn);
  const visits = await takenOut(db);
  let nowMs = fromMs;
  const log = {
    info() {},
    error: (fields: object, message: string) =>
      void process.stderr.write(`${message} ${JSON.stringify(fields)}\n`),
  };
  const past = hiding(store, viewer.organisationId, urns, () => nowMs);
  const watch = startWatch({ db, store: past, now: () => nowMs, log }, never);
  const earlier = visits.filter((one) => one.at_ms <= fromMs - stepMs);
  if (earlier.length > 0) await db.insertInto('visit').values(earlier).execute();
  for (; nowMs < toMs; nowMs += stepMs) {
    await watch.tick();
    const here = visits.filter((one) => one.at_ms > nowMs - stepMs && one.at_ms <= nowMs);
    if (here.length === 0) continue;
    await db.insertInto('visit').values(here).execute();
    await watch.reconsider(
      viewer,
      here.map((one) => one.instrument_id),
      null,
    );
  }
  await watch.stop();
}

/** Visits come when they were made: what they taught is not known before. */
async function takenOut(db: Database): Promise<Records['visit'][]> {
  const visits = await db.selectFrom('visit').selectAll().orderBy('at_ms').execute();
  await db.deleteFrom('visit').execute();
  return visits.map((one) => ({ ...one, received_ms: one.at_ms }));
}

async function said(db: Database, viewer: Viewer, { fromMs, toMs }: Span): Promise<Said> {
  // What is told under a venue-wide notice is not told again.
  const own = (await notices(db, viewer, { over: true, all: true }))
    .filter((one) => one.partOf === null)
    .toSorted((a, b) => a.beganMs - b.beganMs);
  const count = Math.max(1, (await instruments(db, viewer)).length);
  const days = Math.max(1, Math.round((toMs - fromMs) / dayMs));
  const begunAgain = own.filter((one) =>
    own.some(
      ({ rule, place, overMs }) =>
        rule === one.rule &&
        place === one.place &&
        overMs !== null &&
        overMs <= one.beganMs &&
        one.beganMs - overMs < 7 * dayMs,
    ),
  ).length;
  const perInstrumentMonth = (own.length * 30.44) / (days * count);
  return { notices: own, instruments: count, days, perInstrumentMonth, begunAgain };
}

export const replay: Command = async ({ db, air }, _words, options) => {
  const stores = { db, store: air };
  const fromMs = dayOption('from', options.from);
  const toMs = Math.min(Date.now(), dayOption('to', options.to));
  if (fromMs >= toMs) throw new Error('--from: must be before --to');
  const proposed = options.settings
    ? settingsBody.parse({ values: JSON.parse(readFileSync(options.settings, 'utf8')) })
    : null;
  const told = await replayOver(stores, { fromMs, toMs }, proposed?.values ?? null);
  process.stdout.write(`${linesOf(told).join('\n')}\n`);
};

const day = (ms: number): string => new Date(ms).toISOString().slice(0, 10);

/** Each notice a line, oldest first; then the figures, over all and by rule. */
export function linesOf({ notices: own, instruments: count, days, ...figures }: Said): string[] {
  const rules = new Map<string, Notice[]>();
  for (const one of own) rules.set(one.rule, [...(rules.get(one.rule) ?? []), one]);
  const byRule = [...rules].toSorted(([, a], [, b]) => b.length - a.length);
  return [
    ...own.map(
      (one) =>
        `${day(one.beganMs)} to ${one.overMs ? day(one.overMs) : 'still open'}  ${one.rule}  ${one.place}: ${one.what}`,
    ),
    '',
    `instruments: ${count}`,
    `days: ${days}`,
    `notices: ${own.length}`,
    `notices per instrument-month: ${figures.perInstrumentMonth.toFixed(2)}`,
    ...byRule.map(
      ([rule, all]) =>
        `  ${rule}: ${all.length}, ${((all.length * 30.44) / (days * count)).toFixed(3)} per instrument-month`,
    ),
    `begun again within a week: ${figures.begunAgain}`,
  ];
}
