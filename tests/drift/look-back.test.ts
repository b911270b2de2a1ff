/** The look-back never looks ahead, and its score says what it should. */
import { describe, expect, test } from 'vitest';
import {
  type LookedBack,
  lagGridDays,
  lookBack,
  lookFurther,
  outlookAt,
  type PastInterval,
  type ScoredInterval,
  scoreOf,
} from '../../server/science/drift/index.ts';
import { fleetOf } from './scoring/fleets.ts';
import { scoringSeed } from './simulated/seeds.ts';

const msPerDay = 86_400_000;
const fleet = fleetOf(scoringSeed(60), 16);
const intervals = fleet.flatMap((known) => known.intervals);
const ends = intervals.map(({ observation }) => observation.toMs).sort((a, b) => a - b);
const cutMs = ends[Math.floor(ends.length * 0.6)] ?? 0;

/** The same past; after the cut everything is otherwise. */
function otherwise(interval: PastInterval): PastInterval {
  const { observation } = interval;
  if (observation.toMs < cutMs) return interval;
  const changeCents = Object.fromEntries(
    Object.entries(observation.changeCents).map(([register, cents]) => [register, 50 - 3 * cents]),
  );
  return { observation: { ...observation, changeCents }, spotHumidityPct: { from: 5, to: 95 } };
}

test('climate known: what is found later changes nothing said earlier', () => {
  const said = lookBack(intervals, { horizonDays: 0 }).filter(({ originMs }) => originMs < cutMs);
  const saidElse = lookBack(intervals.map(otherwise), { horizonDays: 0 }).filter(
    ({ originMs }) => originMs < cutMs,
  );
  expect(said.length).toBeGreaterThan(3);
  expect(saidElse).toEqual(said);
});

test('gone on with as visits come, it says what it says from the beginning', () => {
  const ended = intervals.toSorted((a, b) => a.observation.toMs - b.observation.toMs);
  const cuts = [0.5, 0.7, 0.71, 1].map((share) => Math.floor(share * ended.length));
  let before: LookedBack | null = null;
  const scored: ScoredInterval[] = [];
  for (const cut of cuts) {
    // As it comes out of another thread.
    const sofar: LookedBack = structuredClone(
      lookFurther(ended.slice(0, cut), { horizonDays: 0 }, before && { ...before, scored: [] }),
    );
    scored.push(...sofar.scored);
    before = sofar;
  }
  expect(scored.length).toBeGreaterThan(20);
  expect(scored).toEqual(lookBack(intervals, { horizonDays: 0 }));
});

test('issued 30 days before: neither the visit nor the air after the origin is used', () => {
  const look = (spoilt: boolean) =>
    lookBack(
      intervals.map((interval) => (spoilt ? otherwise(interval) : interval)),
      {
        horizonDays: 30,
        outlook: (interval, originMs, weights) => {
          const source = fleet.find(
            ({ source: { instrument } }) => instrument.id === interval.observation.instrument,
          )?.source;
          if (source === undefined) return null;
          const { air } = source;
          const humidityPct = Array.from(air.humidityPct, (value, i) =>
            spoilt && air.startMs + i * air.stepMs >= originMs ? 99 : value,
          );
          return outlookAt({ ...air, humidityPct }, interval, originMs, lagGridDays, weights, { count: 50 });
        },
      },
    ).filter(({ originMs, toMs }) => originMs < cutMs && toMs < cutMs);
  const said = look(false);
  expect(said.length).toBeGreaterThan(3);
  expect(look(true)).toEqual(said);
});

test('a forecast is not issued before the tuning it starts from', () => {
  for (const { fromMs, originMs } of lookBack(intervals, { horizonDays: 60, outlook: () => null })) {
    expect(originMs).toBeGreaterThan(fromMs);
  }
  expect(() => lookBack(intervals, { horizonDays: 30 })).toThrow(/outlook/);
});

describe('score', () => {
  const row = (foundCents: number, expectedCents: number, rank: number) => ({
    register: 'middle' as const,
    foundCents,
    expectedCents,
    lowCents: expectedCents - 2,
    highCents: expectedCents + 2,
    rank,
    rivals: { 'no change': 0, 'same season last year': 8, calendar: 9, 'spot humidity': 6 },
  });
  const one = (registers: ScoredInterval['registers']): ScoredInterval => ({
    instrument: 'a',
    fromMs: 0,
    toMs: 100 * msPerDay,
    originMs: 100 * msPerDay,
    registers,
  });

  test('an interval counts once, however many registers it has', () => {
    const score = scoreOf([
      one([row(10, 9, 0.7), row(10, 5, 0.99), row(10, 9, 0.6)]),
      one([row(10, 7, 0.95)]),
    ]);
    // First interval: errors 1, 5, 1 and two of three within; second: error 3, none within.
    expect(score?.errorCents).toBeCloseTo((7 / 3 + 3) / 2, 12);
    expect(score?.coverage).toBeCloseTo((2 / 3 + 0) / 2, 12);
    expect(score?.rivalCents).toEqual({
      'no change': 10,
      'same season last year': 2,
      calendar: 1,
      'spot humidity': 4,
    });
    expect(score).toMatchObject({ intervals: 2, bestRival: 'calendar' });
    expect(score?.ratio).toBeCloseTo((7 / 3 + 3) / 2, 12);
    expect(score?.calibration.at(-1)).toEqual({ promised: 0.9, found: (2 / 3 + 1) / 2 });
  });

  test('nothing scored is no score', () => {
    expect(scoreOf([])).toBeNull();
    expect(scoreOf([one([])])).toBeNull();
  });
});
