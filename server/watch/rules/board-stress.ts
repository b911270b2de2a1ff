import type { Class0to3 } from '../../contract/index.ts';
import { hourMs } from '../../series/climate.ts';
import { type BoardStress, moistureNow, type Situation } from '../situation.ts';
import { percent } from '../wording.ts';
import type { Decision } from './rule.ts';

const beginAt = 0.5;
const stayAt = 0.45;
const sustainedHours = 24;

const ratioOn = (side: 'dry' | 'wet', stress: BoardStress): number =>
  stress.side === side ? (stress.ratio ?? 0) : 0;

/** Hours in a row, up to now, in which the strain on this side was at least so large a part of what is allowed. */
function hoursHeld(situation: Situation, side: 'dry' | 'wet', ratio: number): number {
  const first = situation.stress.findLastIndex((stress) => ratioOn(side, stress) < ratio);
  return situation.stress.length - 1 - first;
}

function boardStress(situation: Situation, side: 'dry' | 'wet', stale: boolean): Decision | null {
  const now = situation.stress.at(-1);
  const moisturePct = moistureNow(situation);
  if (!now || now.class === null || moisturePct === null) return null;
  const ratio = ratioOn(side, now);
  const held = hoursHeld(situation, side, beginAt);
  const severity: Class0to3 = ratio >= 1 ? 3 : ratio >= 0.75 ? 2 : 1;
  const reference = situation.board?.state.referencePct ?? null;
  const weakened =
    situation.findings.length > 0
      ? `, less because of what was found (${situation.findings.join(', ')})`
      : '';
  return {
    rule: side === 'dry' ? 'board-dry' : 'board-wet',
    begins: held >= sustainedHours,
    stays: ratio >= stayAt,
    stale,
    severity,
    sinceMs: situation.nowMs - held * hourMs,
    what: `The soundboard is at ${percent(ratio * 100)} of its ${side} limit.`,
    why:
      side === 'dry'
        ? `At ${percent(moisturePct, 1)} moisture it is drier than it is used to; beyond its limit ribs let go and boards crack${weakened}.`
        : `At ${percent(moisturePct, 1)} moisture it is wetter than it is used to; beyond its limit the wood is crushed, and cracks when it dries again${weakened}.`,
    toDo:
      side === 'dry'
        ? 'Raise the humidity of the room by at most 5 points a day, towards 42 %, and only as far as the windows stay dry.'
        : 'Lower the humidity of the room by at most 5 points a day, towards 50 %.',
    notBeforeMs: null,
    minutes: 30,
    evidence: {
      'share of the limit': ratio,
      'hours in a row over half of it': held,
      'board moisture, %': moisturePct,
      'mean of its own past, %': reference,
      basis: now.reason,
    },
  };
}

export const boardDry = (situation: Situation, stale: boolean) => boardStress(situation, 'dry', stale);
export const boardWet = (situation: Situation, stale: boolean) => boardStress(situation, 'wet', stale);
