/** All that the rules and the advice need to know of one instrument, gathered once. Plain data from here on. */
import type { boardFindings, Tolerance, Visit } from '../contract/index.ts';
import { type Anchor, anchorsOf } from '../drift/anchors.ts';
import { boardOutlook, lastWeekMean, outlookDays } from '../drift/outlook.ts';
import { anchorAt, changeBetween, type History } from '../drift/pitch-course.ts';
import { offsetsAt, type PitchStanding, standingOf } from '../drift/standing.ts';
import type { PlacedInstrument } from '../registry/instruments.ts';
import type { Viewer } from '../registry/viewer.ts';
import {
  type Air,
  boardStressClass,
  type DriftPosterior,
  slabMeanPct,
  toleranceFor,
  tradePrior,
} from '../science/index.ts';
import { type BoardDeps, boardHours } from '../series/board.ts';
import { type BoardHours, type BoardState, dayMs, facesOf } from '../series/board-run.ts';
import { type ClimateSources, climateOf, climateSources, hourFloor, hourMs } from '../series/climate.ts';
import { visitsOf } from '../visits/visits.ts';

export type BoardFinding = (typeof boardFindings)[number];
export type BoardStress = ReturnType<typeof boardStressClass>;

/** How far back the rules look. */
export const lookBackDays = 31;

export interface PitchSituation {
  readonly anchor: Anchor;
  /** Change of mean board moisture since the anchor, %MC. */
  readonly moistureChangePct: number;
  readonly now: PitchStanding;
  /** The standing at the same hour of each past day since the anchor, newest first; at most a month. */
  readonly past: readonly PitchStanding[];
  /** In so many days, if the air stays as it was in the past week; null where the past week is unknown. */
  readonly in21Days: PitchStanding | null;
}

export interface Situation {
  readonly nowMs: number;
  readonly instrument: PlacedInstrument;
  readonly sources: ClimateSources;
  readonly tolerance: Tolerance;
  readonly visits: readonly Visit[];
  /** Air at the piano by the hour, oldest first; the last entry is the last whole hour. */
  readonly air: readonly Air[];
  /** End of the last hour with air; null where none of the window has any. */
  readonly airUntilMs: number | null;
  readonly board: { readonly state: BoardState; readonly hours: BoardHours } | null;
  /** Stress of the board at the end of each hour of `board.hours`. */
  readonly stress: readonly BoardStress[];
  readonly findings: readonly BoardFinding[];
  /** Board moisture over the coming days if the air stays; empty where the past week is unknown. */
  readonly outlook: readonly number[];
  readonly pitch: PitchSituation | null;
  /** Why there is no pitch, for the page. */
  readonly pitchMissing: 'no board' | 'no tuning' | 'tuned before the first reading' | null;
}

const knownFindings: readonly string[] = [
  'open crack',
  'separated rib',
  'no crown',
  'loose pins',
] satisfies BoardFinding[];

/** What the last inspection that found anything says of the board; class 0 means "looked at, no symptoms". */
export function boardFindingsOf(visits: readonly Visit[]): BoardFinding[] {
  const inspection = visits.find((visit) => visit.findings.length > 0);
  const parts = (inspection?.findings ?? []).filter((one) => one.conditionClass > 0).map((one) => one.part);
  return knownFindings.filter((one): one is BoardFinding => parts.includes(one));
}

/** The posterior of an instrument's drift: for now the trade's prior for its kind. */
export const posteriorOf = (instrument: PlacedInstrument): DriftPosterior => tradePrior(instrument.kind);

export async function situationOf(
  deps: BoardDeps,
  viewer: Viewer,
  instrument: PlacedInstrument,
  state: BoardState | null,
  nowMs: number,
): Promise<Situation> {
  const sources = await climateSources(deps.db, viewer, instrument);
  const visits = await visitsOf(deps.db, viewer, instrument.id);
  const untilMs = hourFloor(nowMs);
  const fromMs = untilMs - lookBackDays * dayMs;
  const climate = await climateOf(deps.store, viewer, sources, fromMs, untilMs, hourMs);
  const faces = facesOf(climate);
  const lastKnown = faces.underside.findLastIndex((air) => air.humidityPct !== null);
  const findings = boardFindingsOf(visits);
  const tolerance = toleranceFor(instrument.use);

  const anchors = anchorsOf(visits, instrument.pitchStandardHz);
  const anchor = anchorAt(anchors, nowMs);
  const historyFrom = Math.min(fromMs, anchor?.atMs ?? fromMs);
  const long = state && (await boardHours(deps, viewer, instrument, sources, historyFrom, untilMs));
  const hours = long && since(long, fromMs);
  const [top, underside] = [lastWeekMean(faces.top), lastWeekMean(faces.underside)];
  const outlook = state && top && underside ? boardOutlook(state.slab, top, underside) : [];
  const shared = { nowMs, instrument, sources, tolerance, visits, findings, outlook };
  const air = faces.underside;
  const airUntilMs = lastKnown < 0 ? null : fromMs + (lastKnown + 1) * hourMs;
  if (!state || !long || !hours) {
    return { ...shared, air, airUntilMs, board: null, stress: [], pitch: null, pitchMissing: 'no board' };
  }
  const stress = hours.moisturePct.map((moisturePct, i) =>
    boardStressClass({
      moisturePct,
      referencePct: hours.referencePct[i] ?? state.referencePct,
      species: instrument.board.species,
      construction: instrument.board.construction,
      findings,
    }),
  );
  const known = { ...shared, air, airUntilMs, board: { state, hours }, stress };
  if (!anchor) return { ...known, pitch: null, pitchMissing: 'no tuning' };
  // Temperature since the anchor: one more look at the roll-ups, over the whole history of the board.
  const warm = facesOf(
    await climateOf(
      deps.store,
      viewer,
      sources,
      long.fromMs,
      long.fromMs + long.moisturePct.length * hourMs,
      hourMs,
    ),
  );
  const history: History = { board: long, temperatureC: warm.underside.map((one) => one.temperatureC) };
  const pitch = pitchSituation(instrument, anchor, history, outlook, tolerance, nowMs);
  if (!pitch) return { ...known, pitch: null, pitchMissing: 'tuned before the first reading' };
  return { ...known, pitch, pitchMissing: null };
}

function since(hours: BoardHours, fromMs: number): BoardHours {
  const skip = Math.max(0, Math.round((fromMs - hours.fromMs) / hourMs));
  return {
    fromMs: hours.fromMs + skip * hourMs,
    moisturePct: hours.moisturePct.slice(skip),
    referencePct: hours.referencePct.slice(skip),
    heldHours: hours.heldHours.slice(skip),
  };
}

function pitchSituation(
  instrument: PlacedInstrument,
  anchor: Anchor,
  history: History,
  outlook: readonly number[],
  tolerance: Tolerance,
  nowMs: number,
): PitchSituation | null {
  const posterior = posteriorOf(instrument);
  const change = changeBetween(history, anchor.atMs, nowMs);
  if (!change) return null;
  const standing = (at: typeof change) => standingOf(offsetsAt(posterior, anchor, at), tolerance);
  const past: PitchStanding[] = [];
  for (let day = 1; day < lookBackDays; day++) {
    const then = nowMs - day * dayMs;
    const sofar = then < anchor.atMs ? null : changeBetween(history, anchor.atMs, then);
    if (!sofar) break;
    past.push(standing(sofar));
  }
  const [today] = outlook;
  const later = outlook[outlookDays];
  const in21Days =
    today === undefined || later === undefined
      ? null
      : standing({
          ...change,
          moisturePct: change.moisturePct + later - today,
          years: change.years + outlookDays / 365.25,
        });
  return { anchor, moistureChangePct: change.moisturePct, now: standing(change), past, in21Days };
}

/** Mean moisture of the board now; null where nothing is known. */
export const moistureNow = (situation: Situation): number | null =>
  situation.board ? slabMeanPct(situation.board.state.slab) : null;
