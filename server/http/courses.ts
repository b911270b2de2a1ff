/** What an instrument's chart is drawn from: air, board and predicted pitch on one grid. */
import type { Climate, Pitch } from '../contract/index.ts';
import { registers } from '../contract/index.ts';
import { anchorsOf, heardFromMs } from '../drift/anchors.ts';
import { basisWords } from '../drift/insight.ts';
import { driftOf } from '../drift/learned.ts';
import { pitchCourse } from '../drift/pitch-course.ts';
import { standingOf } from '../drift/standing.ts';
import type { PlacedInstrument } from '../registry/instruments.ts';
import { toleranceFor } from '../science/index.ts';
import { boardBegins, boardHours } from '../series/board.ts';
import { type BoardHours, dayMs } from '../series/board-run.ts';
import { climateOf, climateSources, hourFloor, hourMs } from '../series/climate.ts';
import { leftOutOf } from '../series/left-out.ts';
import { isTuning, visitsOf } from '../visits/visits.ts';
import type { AppDeps } from './handlers.ts';
import { BadRequest } from './problem.ts';

export interface Window {
  readonly from?: number | undefined;
  readonly to?: number | undefined;
  readonly points?: number | undefined;
}

const usualDays = 365;
const usualPoints = 800;
const leastWidthMs = 10 * 60_000;
/** Beyond this long without air the held profile is called uncertain. */
const uncertainAfterHours = 48;

interface Grid {
  readonly fromMs: number;
  readonly toMs: number;
  readonly widthMs: number;
}

/** At most so many buckets, from the first reading on unless asked otherwise; whole hours from an hour on, since those are kept ready. */
function gridOf(window: Window, beginsMs: number | null, nowMs: number): Grid {
  const toMs = window.to ?? nowMs;
  const fromMs = window.from ?? Math.min(beginsMs ?? toMs - usualDays * dayMs, toMs - dayMs);
  if (fromMs >= toMs) throw new BadRequest([{ field: 'from', sentence: 'from: must be before to' }]);
  if (toMs - fromMs > 20 * 366 * dayMs) {
    throw new BadRequest([{ field: 'from', sentence: 'from: at most 20 years before to' }]);
  }
  const exact = (toMs - fromMs) / (window.points ?? usualPoints);
  const unit = exact > hourMs ? hourMs : leastWidthMs;
  // One bucket less than asked, since the first is cut at a multiple of the width.
  const widthMs = Math.ceil((exact * 1.0001) / unit) * unit;
  return { fromMs: Math.floor(fromMs / widthMs) * widthMs, toMs, widthMs };
}

const round = (value: number | null, digits: number): number | null =>
  value === null || !Number.isFinite(value) ? null : Number(value.toFixed(digits));

/** Mean of the hours a bucket touches; null outside what is known of the board. */
function boardIn(
  hours: BoardHours | null,
  startMs: number,
  widthMs: number,
): { pct: number | null; uncertain: boolean } {
  if (!hours) return { pct: null, uncertain: false };
  const first = Math.floor((startMs - hours.fromMs) / hourMs);
  const last = Math.max(first + 1, Math.ceil((startMs + widthMs - hours.fromMs) / hourMs));
  const inside = hours.moisturePct.slice(Math.max(0, first), Math.max(0, last));
  if (inside.length === 0) return { pct: null, uncertain: false };
  const held = hours.heldHours.slice(Math.max(0, first), Math.max(0, last));
  return {
    pct: inside.reduce((sum, one) => sum + one, 0) / inside.length,
    uncertain: held.every((one) => one > uncertainAfterHours),
  };
}

export async function climateAnswer(
  deps: AppDeps,
  instrument: PlacedInstrument,
  window: Window,
): Promise<Climate> {
  const { db, store, amendments, viewer, now } = deps;
  const grid = gridOf(window, await boardBegins(deps, instrument), now());
  const sources = await climateSources(db, viewer, instrument);
  const air = await climateOf(store, viewer, sources, grid.fromMs, grid.toMs, grid.widthMs);
  const hours = await boardHours(deps, viewer, instrument, sources, grid.fromMs, grid.toMs);
  const starts = Array.from({ length: air.length }, (_, i) => grid.fromMs + i * grid.widthMs);
  const board = starts.map((startMs) => boardIn(hours, startMs, grid.widthMs));
  const columns = (series: typeof air.room) =>
    series && {
      humidityPct: series.humidityPct.map((one) => round(one, 2)),
      temperatureC: series.temperatureC.map((one) => round(one, 2)),
    };
  return {
    fromMs: grid.fromMs,
    untilMs: grid.toMs,
    timesMs: starts.map((startMs) => Math.min(startMs + grid.widthMs / 2, grid.toMs)),
    room: columns(air.room),
    inside: columns(air.inside),
    leftOut: leftOutOf(amendments, viewer, [...sources.room, ...sources.inside], grid, grid.widthMs),
    board: {
      moisturePct: board.map((one) => round(one.pct, 3)),
      uncertain: board.map((one) => one.uncertain),
    },
  };
}

export async function pitchAnswer(
  deps: AppDeps,
  instrument: PlacedInstrument,
  window: Window,
): Promise<Pitch> {
  const { db, viewer } = deps;
  const nowMs = deps.now();
  const grid = gridOf(window, await boardBegins(deps, instrument), nowMs);
  const tolerance = toleranceFor(instrument.use);
  const visits = await visitsOf(db, viewer, instrument.id);
  const anchors = anchorsOf(visits, instrument.pitchStandardHz);
  const start = anchors.findLast((anchor) => anchor.atMs <= grid.fromMs) ?? anchors[0];
  const sources = await climateSources(db, viewer, instrument);
  const hours =
    start &&
    (await boardHours(
      deps,
      viewer,
      instrument,
      sources,
      Math.min(heardFromMs(start), grid.fromMs),
      hourFloor(nowMs),
    ));
  const length = Math.ceil((grid.toMs - grid.fromMs) / grid.widthMs);
  const timesMs = Array.from({ length }, (_, i) =>
    Math.min(grid.fromMs + (i + 0.5) * grid.widthMs, grid.toMs, nowMs),
  ).filter((timeMs, i, all) => i === 0 || timeMs > (all[i - 1] ?? 0));
  const drift = await driftOf(db, viewer, instrument);
  const course = hours ? pitchCourse(drift, anchors, hours, timesMs) : timesMs.map(() => null);
  const [latest] = hours ? pitchCourse(drift, anchors, hours, [nowMs]) : [];
  const none = { bass: null, tenor: null, middle: null, treble: null, top: null };
  const { registers: now, levelCents, beyond } = standingOf(drift, latest ?? none, tolerance);
  return {
    standardHz: instrument.pitchStandardHz,
    tolerance,
    lastTunedMs: anchors.findLast((anchor) => anchor.tuned)?.atMs ?? null,
    basis: hours
      ? basisWords(drift)
      : 'No tuning is recorded within the time its climate is known, so nothing can be said of its pitch.',
    now,
    whole: levelCents === null || beyond === null ? null : { levelCents, beyond },
    course: {
      timesMs,
      registers: registers.map((register) => ({
        register,
        offsetCents: course.map((one) => round(one?.[register]?.meanCents ?? null, 2)),
        sdCents: course.map((one) => round(one?.[register]?.sdCents ?? null, 2)),
      })),
    },
    visits: visits
      .filter((visit) => visit.atMs >= grid.fromMs && visit.atMs <= grid.toMs)
      .map((visit) => ({ id: visit.id, atMs: visit.atMs, tuned: isTuning(visit) })),
  };
}
