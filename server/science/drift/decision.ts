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
/** Below this (cents) what the temperature has done is not worth a word. */
const worthCents = 1;

/**
 * Offset alone and coming back: wait. Unisons alone: a touch-up. Both: tune, also where only the unisons ask surely and the pitch
 * is likelier out than not. An offset that comes back never excuses unisons that will not.
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

  const said = (advice: Advice, sentence: string): TuningDecision => ({
    advice,
    asks,
    chances,
    because: `${sentence}${warmthWords(paths.warmth)}`,
  });
  const offset = `pitch is out with a chance of ${odds(chances.offsetNow)}`;
  const back = `in three weeks of ${odds(chances.offsetLater)}`;
  const unisons = `unisons with a chance of ${odds(chances.unisonsNow)}`;
  if (offsetAsks && unisonsAsk) return said('tune', `Both ask: ${offset}, ${unisons}.`);
  // Who comes for the unisons need not be sure of the pitch: even odds that stay are enough to tune it too.
  if (unisonsAsk && chances.offsetNow >= staysFrom && !comesBack)
    return said(
      'tune',
      `The unisons ask, and the pitch is likelier out than not: ${offset}, ${back}; ${unisons}.`,
    );
  if (unisonsAsk)
    return said('touch up unisons', `Only the unisons ask surely enough: ${offset}, ${unisons}.`);
  if (offsetAsks && comesBack)
    return said('wait', `It is likely to come back by itself: ${offset}, ${back}.`);
  if (offsetAsks) return said('tune', `It is likely to stay out: ${offset}, ${back}.`);
  return said('leave it', `${standing(chances.anyNow)}: ${offset}, ${unisons}.`);
}

/** Words that go with the odds of being out by any part. */
function standing(anyNow: number): string {
  if (anyNow < 0.2) return 'Within tolerance as far as can be told';
  if (anyNow < 0.5) return 'More likely within tolerance than out of it';
  return 'It may be out of tolerance, but not surely enough to ask for a visit';
}

function odds(share: number): string {
  if (share < 0.05) return 'under 1 in 10';
  if (share > 0.95) return 'over 9 in 10';
  return `${Math.min(9, Math.max(1, Math.round(share * 10)))} in 10`;
}

/** What the temperature alone has done is said apart from what the wood has: it comes back, and nobody tunes for it. */
function warmthWords({ cents, changeC }: ForecastPaths['warmth']): string {
  if (Math.abs(cents) < worthCents) return '';
  const side = cents > 0 ? 'sharp' : 'flat';
  const air = changeC < 0 ? 'colder' : 'warmer';
  return (
    ` Of its offset about ${Math.abs(cents).toFixed(0)} cents ${side} are there because it is ` +
    `${Math.abs(changeC).toFixed(0)} °C ${air} than when it was tuned; that comes back with the temperature.`
  );
}
