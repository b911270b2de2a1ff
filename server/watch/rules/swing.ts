import type { Air } from '../../science/index.ts';
import { hourMs } from '../../series/climate.ts';
import type { Situation } from '../situation.ts';
import { percent } from '../wording.ts';
import type { Decision } from './rule.ts';

const windows = [
  { hours: 24, beginsOver: 10, staysOver: 8, name: '24\u00a0hours' },
  { hours: 168, beginsOver: 15, staysOver: 12, name: '7\u00a0days' },
] as const;

/** Median of five hours: a spike under three hours leaves no trace in it, and the board does not see it either. */
function despiked(air: readonly Air[]): (number | null)[] {
  return air.map((_, i) => {
    const around = air
      .slice(Math.max(0, i - 2), i + 3)
      .map((one) => one.humidityPct)
      .filter((one) => one !== null)
      .sort((a, b) => a - b);
    return around.length < 3 ? null : (around[Math.floor(around.length / 2)] ?? null);
  });
}

function range(values: readonly (number | null)[]): { low: number; high: number } | null {
  const known = values.filter((one) => one !== null);
  return known.length === 0 ? null : { low: Math.min(...known), high: Math.max(...known) };
}

/** The air at the piano swings more than tunings can bear. */
export function swing(situation: Situation, stale: boolean): Decision | null {
  const smooth = despiked(situation.air);
  const judged = windows.flatMap((window) => {
    const seen = range(smooth.slice(-window.hours));
    return seen ? [{ ...window, ...seen, size: seen.high - seen.low }] : [];
  });
  const [first] = judged;
  if (!first) return null;
  const worst = judged.reduce((far, one) =>
    one.size / one.beginsOver > far.size / far.beginsOver ? one : far,
  );
  return {
    rule: 'swing',
    begins: judged.some((one) => one.size > one.beginsOver),
    stays: judged.some((one) => one.size > one.staysOver),
    stale,
    severity: worst.size > 2 * worst.beginsOver ? 2 : 1,
    sinceMs: situation.nowMs - worst.hours * hourMs,
    what: `The humidity at the piano went from ${percent(worst.low)} to ${percent(worst.high)} within ${worst.name}.`,
    why: 'Unisons spread when the air swings faster than the board can follow.',
    toDo: 'Find what changed: heating, an open window or door, a humidifier that ran dry. Keep the day within 5 points where you can.',
    notBeforeMs: null,
    minutes: 0,
    evidence: {
      'lowest, %RH': worst.low,
      'highest, %RH': worst.high,
      'window, hours': worst.hours,
      'limit, points': worst.beginsOver,
    },
  };
}
