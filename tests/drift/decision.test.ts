/** Whether a tuning is asked for, whether it would hold, and whether the words agree with the odds. */
import { describe, expect, test } from 'vitest';
import { eventUnsteadiness, forecastPaths, tuningDecision } from '../../server/science/drift/index.ts';
import { input } from './plain-piano.ts';

/** Marks beyond tolerance as wanted: [level now, level in three weeks, unisons throughout]. */
function decisionOf(now: number, later: number, unisons: number) {
  const paths = forecastPaths({ ...input(500, 60), paths: 100, days: 30 });
  const { count, days } = paths.climate;
  const mark = (share: (t: number) => number) =>
    Uint8Array.from({ length: count * days }, (_, i) =>
      Math.floor(i / days) < share(i % days) * count ? 1 : 0,
    );
  return tuningDecision({
    ...paths,
    beyond: {
      level: mark((t) => (t < 10 ? now : later)),
      step: mark(() => 0),
      spread: mark(() => unisons),
    },
  });
}

describe('does it ask for a tuning?', () => {
  test.each([
    ['offset alone, coming back', 0.9, 0.2, 0.1, 'wait', ['level']],
    ['offset alone, staying', 0.9, 0.9, 0.1, 'tune', ['level']],
    ['unisons alone', 0.2, 0.2, 0.95, 'touch up unisons', ['unisons']],
    ['unisons, and a pitch likelier out than not', 0.6, 0.6, 0.95, 'tune', ['unisons']],
    ['unisons, and such a pitch that comes back', 0.6, 0.2, 0.95, 'touch up unisons', ['unisons']],
    ['both', 0.9, 0.9, 0.95, 'tune', ['level', 'unisons']],
    ['an offset that comes back never excuses unisons', 0.9, 0.2, 0.95, 'tune', ['level', 'unisons']],
    ['neither', 0.5, 0.5, 0.5, 'leave it', []],
  ] as const)('%s', (_, now, later, unisons, advice, asks) => {
    const decision = decisionOf(now, later, unisons);
    expect(decision.advice).toBe(advice);
    expect(decision.asks).toEqual(asks);
    expect(decision.because.length).toBeGreaterThan(20);
  });
});

describe('what is said agrees with the odds', () => {
  const say = (now: number, unisons: number) => decisionOf(now, now, unisons).because;

  test.each([
    [0.05, 0.05, /^Within tolerance as far as can be told: .* 1 in 10/],
    [0.3, 0.1, /^More likely within tolerance than out of it: pitch is out with a chance of 3 in 10/],
    [0.6, 0.1, /^It may be out of tolerance, but not surely enough to ask for a visit: pitch .* 6 in 10/],
    [0.3, 0.95, /^Only the unisons ask surely enough: pitch is out with a chance of 3 in 10, unisons .* 9/],
    [0.6, 0.95, /^The unisons ask, and the pitch is likelier out than not: pitch .* 6 in 10, in three weeks/],
    [0, 1, /a chance of under 1 in 10, unisons with a chance of over 9 in 10/],
  ])('pitch %f, unisons %f', (now, unisons, words) => {
    expect(say(now, unisons)).toMatch(words);
    // Nothing that is more likely out than not is called within.
    if (now >= 0.5) expect(say(now, unisons)).not.toMatch(/[Ww]ithin tolerance (as far|than)/);
  });

  test('a cold hall: sharp by what the cold does, which comes back', () => {
    const warm = input(500, 60);
    const made = (temperatureC: number) =>
      tuningDecision(
        forecastPaths({ ...warm, since: { ...warm.since, temperatureC }, paths: 100, days: 30 }),
      );
    const { count, days, temperatureC } = forecastPaths({ ...warm, paths: 100, days: 30 }).climate;
    const now = temperatureC.reduce((sum, value, i) => sum + (i % days === 0 ? value / count : 0), 0);
    const cold = made(now + 8).because;
    // Common practice: -0.36 c/K, so 8 °C colder is about 3 cents sharp.
    expect(cold).toMatch(/about [23] cents sharp are there because it is 8 °C colder than when it was tuned/);
    expect(cold).toMatch(/comes back with the temperature/);
    expect(made(now - 8).because).toMatch(/cents flat are there because it is 8 °C warmer/);
    expect(made(now).because).not.toMatch(/temperature/);
  });
});

describe('does a tuning hold until the concert?', () => {
  const given = { ...input(500, 60, 'concert'), paths: 200, days: 30 };
  const made = forecastPaths(given);
  const { count, days, startMs } = made.climate;
  /** The same piano in air that is the same every day, but for what the board gains per day and how warm it gets. */
  const along = (pctPerDay: number, warmerPerDay = 0) =>
    eventUnsteadiness(
      given,
      {
        climate: {
          ...made.climate,
          moisturePct: Float64Array.from({ length: count * days }, (_, i) => 8 + pctPerDay * (i % days)),
          temperatureC: Float64Array.from({ length: count * days }, (_, i) => 20 + warmerPerDay * (i % days)),
        },
      },
      startMs + 14.5 * 86_400_000,
      [0, 2, 7],
    ) ?? [];

  test('on a steady board it mostly does; where the tenor gains six cents in two days it does not', () => {
    const [sameDay, two] = along(0);
    expect(sameDay).toBe(0);
    expect(two).toBeLessThan(0.3);
    // Common practice: some 6 cents per %MC in the low tenor, 3 in the middle.
    expect(along(0.5)[1]).toBeGreaterThan(0.9);
  });

  test('the longer before, the less sure; warmth alone, 2 K a day at -0.35 c/K, moves it past 2 cents in a week', () => {
    const [, two, week] = along(0.1);
    expect(week).toBeGreaterThan(two ?? 1);
    const [, warmTwo, warmWeek] = along(0, 2);
    expect(warmWeek).toBeGreaterThan(0.9);
    expect(warmTwo).toBeLessThan(warmWeek ?? 0);
  });

  test('beyond the forecast nothing is said; a tuning in the past is taken as made on the first day', () => {
    expect(eventUnsteadiness(given, made, startMs + 31 * 86_400_000, [0])).toBeNull();
    const soon = eventUnsteadiness(given, made, startMs + 3.5 * 86_400_000, [3, 14]) ?? [];
    expect(soon[0]).toBe(soon[1]);
  });
});
