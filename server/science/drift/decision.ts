/** Does it ask for a tuning? Offset and unisons are looked at together, and it is said which of them asks. */
import { type ForecastPaths, isOut } from './forecast.ts';

export type Advice = 'leave it' | 'wait' | 'touch up unisons' | 'tune';

export interface TuningDecision {
  readonly advice: Advice;
  readonly asks: readonly ('level' | 'step' | 'unisons')[];
  /** Chances now, and of the offset three weeks on. */
  readonly chances: {
    readonly levelNow: number;
    readonly stepNow: number;
    readonly offsetNow: number;
    readonly offsetLater: number;
    readonly unisonsNow: number;
    readonly anyNow: number;
  };
  readonly because: string;
}

/** Chance from which a part asks, and below which, three weeks on, it is taken to come back by itself (proposals). */
export const asksFrom = 0.8;
export const staysFrom = 0.5;
export const laterDays = 21;

/**
 * Offset alone and coming back: wait. Unisons alone: a touch-up. Both: tune. An offset that comes back never excuses unisons that
 * will not.
 */
export function tuningDecision(paths: ForecastPaths): TuningDecision {
  const { beyond, climate } = paths;
  const { count, days } = climate;
  const later = Math.min(laterDays, days) - 1;
  const chance = (day: number, isHit: (index: number) => boolean) => {
    let hits = 0;
    for (let k = 0; k < count; k++) if (isHit(k * days + day)) hits++;
    return hits / count;
  };
  const isOff = (i: number) => beyond.level[i] === 1 || beyond.step[i] === 1;
  const chances = {
    levelNow: chance(0, (i) => beyond.level[i] === 1),
    stepNow: chance(0, (i) => beyond.step[i] === 1),
    offsetNow: chance(0, isOff),
    offsetLater: chance(later, isOff),
    unisonsNow: chance(0, (i) => beyond.spread[i] === 1),
    anyNow: chance(0, (i) => isOut(beyond, i)),
  };
  const offsetAsks = chances.offsetNow >= asksFrom;
  const unisonsAsk = chances.unisonsNow >= asksFrom;
  const comesBack = chances.offsetLater < staysFrom;
  const asks: ('level' | 'step' | 'unisons')[] = [];
  if (offsetAsks && chances.levelNow >= staysFrom) asks.push('level');
  if (offsetAsks && chances.stepNow >= staysFrom) asks.push('step');
  if (offsetAsks && asks.length === 0) asks.push('level');
  if (unisonsAsk) asks.push('unisons');

  const odds = (share: number) => `${Math.round(share * 10)} in 10`;
  const offset = `pitch is out with a chance of ${odds(chances.offsetNow)}`;
  const back = `in three weeks of ${odds(chances.offsetLater)}`;
  const unisons = `unisons with a chance of ${odds(chances.unisonsNow)}`;
  if (offsetAsks && unisonsAsk) {
    return { advice: 'tune', asks, chances, because: `Both ask: ${offset}, ${unisons}.` };
  }
  if (unisonsAsk) {
    return {
      advice: 'touch up unisons',
      asks,
      chances,
      because: `Only the unisons ask: out with a chance of ${odds(chances.unisonsNow)}.`,
    };
  }
  if (offsetAsks && comesBack) {
    return { advice: 'wait', asks, chances, because: `It comes back by itself: ${offset}, ${back}.` };
  }
  if (offsetAsks) return { advice: 'tune', asks, chances, because: `It stays out: ${offset}, ${back}.` };
  return {
    advice: 'leave it',
    asks,
    chances,
    because: `Within tolerance as far as can be told: ${offset}, ${unisons}.`,
  };
}
