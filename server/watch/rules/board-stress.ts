import type { Class0to3 } from '../../contract/index.ts';
import type { Situation } from '../situation.ts';
import { percent } from '../wording.ts';
import { afterHours, type Rule, type Words } from './rule.ts';

/** Hours back on the quiet side before it is over: as long as it takes to begin. */
const endHours = 24;

function ratioOn(side: 'dry' | 'wet', { stress, course }: Situation): number | null {
  if (!stress || stress.ratio === null || course.moisturePct === null || course.referencePct === null) {
    return null;
  }
  const wet = course.moisturePct > course.referencePct;
  return wet === (side === 'wet') ? stress.ratio : 0;
}

/** The design's classes at 0.5, 0.75 and 1 of what is allowed. */
const severityOf = (ratio: number): Class0to3 => (ratio >= 1 ? 3 : ratio >= 0.75 ? 2 : 1);

function boardRule(side: 'dry' | 'wet'): Rule {
  return {
    name: side === 'dry' ? 'board-dry' : 'board-wet',
    basis: 'air',
    durations: ({ settings }) => afterHours(settings['board hours'], endHours),
    measure(situation) {
      const ratio = ratioOn(side, situation);
      const { settings } = situation;
      return ratio === null
        ? null
        : { over: ratio >= settings['board begins'], quiet: ratio < settings['board ends'] };
    },
    severity: (situation) => severityOf(ratioOn(side, situation) ?? 0),
    say: (situation, sinceMs) => words(side, situation, sinceMs),
  };
}

function words(side: 'dry' | 'wet', situation: Situation, sinceMs: number): Words {
  const { course, findings, stress, nowMs } = situation;
  const ratio = ratioOn(side, situation) ?? 0;
  const moisturePct = course.moisturePct ?? Number.NaN;
  const weakened = findings.length > 0 ? `, less because of what was found (${findings.join(', ')})` : '';
  const dry = side === 'dry';
  const atRisk = severityOf(ratio) >= 2;
  return {
    what: `The soundboard is at ${percent(ratio * 100)} of its ${side} limit.`,
    why: dry
      ? `At ${percent(moisturePct, 1)} moisture it is drier than it is used to; beyond its limit ribs let go and boards crack${weakened}.`
      : `At ${percent(moisturePct, 1)} moisture it is wetter than it is used to; beyond its limit the wood is crushed, and cracks when it dries again${weakened}.`,
    toDo: dry
      ? 'Raise the humidity of the room by at most 5 points a day, towards 42 %, and only as far as the windows stay dry.'
      : 'Lower the humidity of the room by at most 5 points a day, towards 50 %.',
    toVenue: dry
      ? 'The air at this piano is too dry for it: raise the humidity of the room by at most 5 points a day, and only as far as the windows stay dry.'
      : 'The air at this piano is too damp for it: lower the humidity of the room by at most 5 points a day.',
    toClient: `The air around your piano is ${atRisk ? `so ${dry ? 'dry' : 'damp'} that its soundboard may come to harm` : `too ${dry ? 'dry' : 'damp'} for its soundboard`}.`,
    notBeforeMs: null,
    minutes: 30,
    evidence: {
      'share of the limit': ratio,
      'hours since it began': Math.round((nowMs - sinceMs) / 3_600_000),
      'board moisture, %': moisturePct,
      'mean of its own past, %': course.referencePct,
      basis: stress?.reason ?? null,
    },
  };
}

export const boardDry = boardRule('dry');
export const boardWet = boardRule('wet');
