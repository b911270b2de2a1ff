/** All that rules and advice may know of one instrument. Plain data: whoever asks a rule gathers it first. */
import type { Settings } from '../contract/index.ts';
import type { PlacedInstrument } from '../registry/instruments.ts';
import { boardStressClass } from '../science/index.ts';
import type { Course } from './course.ts';
import type { BoardFinding } from './findings.ts';
import type { Outlook } from './outlook.ts';

export type BoardStress = ReturnType<typeof boardStressClass>;

export interface Situation {
  readonly nowMs: number;
  readonly instrument: PlacedInstrument;
  readonly settings: Settings;
  readonly course: Course;
  /** null while nothing is known of the board. */
  readonly stress: BoardStress | null;
  readonly findings: readonly BoardFinding[];
  /** What is looked at once a day; null before the first look. */
  readonly outlook: Outlook | null;
}

export function stressOf(
  instrument: PlacedInstrument,
  course: Course,
  findings: readonly BoardFinding[],
): BoardStress | null {
  if (course.moisturePct === null) return null;
  return boardStressClass({
    moisturePct: course.moisturePct,
    referencePct: course.referencePct,
    species: instrument.board.species,
    construction: instrument.board.construction,
    findings,
  });
}

export const situationOf = (
  instrument: PlacedInstrument,
  settings: Settings,
  course: Course,
  outlook: Outlook | null,
  nowMs: number,
): Situation => {
  const findings = outlook?.findings ?? [];
  return {
    nowMs,
    instrument,
    settings,
    course,
    stress: stressOf(instrument, course, findings),
    findings,
    outlook,
  };
};
