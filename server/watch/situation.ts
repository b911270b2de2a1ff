/** All that the rules and the advice need to know of one instrument, gathered once. Plain data from here on. */
import type { boardFindings, Tolerance, Visit } from '../contract/index.ts';
import { anchorsOf } from '../drift/anchors.ts';
import { boardOutlook, lastWeekMean } from '../drift/outlook.ts';
import { anchorAt } from '../drift/pitch-course.ts';
import { type PitchNow, pitchNow } from '../drift/pitch-now.ts';
import type { PlacedInstrument } from '../registry/instruments.ts';
import type { Viewer } from '../registry/viewer.ts';
import { type Air, boardStressClass, slabMeanPct, toleranceFor } from '../science/index.ts';
import { type BoardDeps, boardHours } from '../series/board.ts';
import { type BoardHours, type BoardState, dayMs, facesOf, hoursFrom } from '../series/board-run.ts';
import { type ClimateSources, climateOf, climateSources, hourFloor, hourMs } from '../series/climate.ts';
import { visitsOf } from '../visits/visits.ts';

export type BoardFinding = (typeof boardFindings)[number];
export type BoardStress = ReturnType<typeof boardStressClass>;

/** How far back the rules look. */
export const lookBackDays = 31;

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
  readonly pitch: PitchNow | null;
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
  const hours = long && hoursFrom(long, fromMs);
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
  const pitch = pitchNow(instrument, anchor, long, outlook, tolerance, nowMs);
  if (!pitch) return { ...known, pitch: null, pitchMissing: 'tuned before the first reading' };
  return { ...known, pitch, pitchMissing: null };
}

/** Mean moisture of the board now; null where nothing is known. */
export const moistureNow = (situation: Situation): number | null =>
  situation.board ? slabMeanPct(situation.board.state.slab) : null;
