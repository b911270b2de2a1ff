/**
 * The historic climate of a room.
 * Source: EN 15757:2010, procedure recalled (7th and 93rd percentile of departures from a centred 30-day mean; 10 %RH where
 * less). Computed: a 30-day box mean passes 0.988925 of a yearly sine and nothing of a daily or 30-day one; the 7th and 93rd
 * percentile of a normal distribution lie at 1.475791 standard deviations.
 */
import { describe, expect, test } from 'vitest';
import {
  historicBand,
  limitsAt,
  quantile,
  runningMean,
  shareInBand,
  swing,
  withoutSpikes,
} from '../../server/science/index.ts';

const DAY = 24;
const YEAR = 365 * DAY;
const hours = (count: number, at: (hour: number) => number | null) =>
  Array.from({ length: count }, (_, i) => at(i));
const sine = (period: number, hour: number) => Math.sin((2 * Math.PI * hour) / period);
/** Standard normal from two uniforms of a small congruential generator, so that the test needs no library. */
function normals(count: number): number[] {
  let state = 12345;
  const uniform = () => {
    state = (state * 1103515245 + 12345) % 2147483648;
    return (state + 0.5) / 2147483648;
  };
  return Array.from(
    { length: count },
    () => Math.sqrt(-2 * Math.log(uniform())) * Math.cos(2 * Math.PI * uniform()),
  );
}

describe('season', () => {
  const middle = (values: (number | null)[]) => values.flatMap((value) => (value === null ? [] : [value]));

  test('passes 0.988925 of a yearly sine (the window is 721 hours, not 720: 2e-4)', () => {
    const season = middle(
      runningMean(
        hours(2 * YEAR, (h) => sine(YEAR, h)),
        30 * DAY,
        { place: 'centred' },
      ),
    );
    expect(Math.abs(Math.max(...season) - 0.988925)).toBeLessThan(2e-4);
  });
  test.each([DAY, 30 * DAY])(
    'passes next to nothing of a sine of %i hours (the odd hour: 1/721)',
    (period) => {
      const season = middle(
        runningMean(
          hours(YEAR, (h) => sine(period, h)),
          30 * DAY,
          { place: 'centred' },
        ),
      );
      expect(Math.max(...season.map(Math.abs))).toBeLessThan(1 / 720);
    },
  );
});

describe('band', () => {
  const noise = normals(13 * 30 * DAY + 40 * DAY);

  test('normal fluctuations of 12 %: percentiles at 1.475791 sd, to 3 standard errors (0.6 %RH)', () => {
    const band = historicBand(noise.map((z) => 50 + 12 * z));
    expect(Math.abs((band?.foundLowPct ?? Number.NaN) + 12 * 1.475791)).toBeLessThan(0.6);
    expect(Math.abs((band?.foundHighPct ?? Number.NaN) - 12 * 1.475791)).toBeLessThan(0.6);
    expect(band?.lowPct).toBe(band?.foundLowPct);
  });

  test('small fluctuations: 10 %RH about the season is accepted', () => {
    const band = historicBand(noise.map((z) => 50 + 2 * z));
    expect(Math.abs((band?.foundLowPct ?? Number.NaN) + 2 * 1.475791)).toBeLessThan(0.1);
    expect(band).toMatchObject({ lowPct: -10, highPct: 10 });
  });

  test('limits of the last fortnight stand on the season of the year before', () => {
    const series = hours(YEAR + 60 * DAY, (h) => 45 + 10 * sine(YEAR, h));
    const band = historicBand(series);
    expect(band).not.toBeNull();
    if (band === null) return;
    const last = series.length - 1;
    expect(band.seasonPct[last]).toBeNull();
    const limits = limitsAt(band, last);
    expect(limits?.lowPct).toBeCloseTo((band.seasonPct[last - YEAR] ?? Number.NaN) - 10, 10);
    expect(limitsAt(band, last + 3 * YEAR)).toBeNull();
  });

  test('less than a year, or too many gaps: no band', () => {
    expect(historicBand(hours(YEAR - 1, () => 45))).toBeNull();
    expect(historicBand(hours(2 * YEAR, (h) => (h % 3 === 0 ? 45 : null)))).toBeNull();
  });

  test('a bad past is never called fine', () => {
    expect(historicBand(hours(2 * YEAR, (h) => 40 + 20 * sine(YEAR, h)))?.caution).toMatch(
      /dry enough to split/,
    );
    expect(historicBand(hours(2 * YEAR, () => 80))?.caution).toMatch(/damp enough for mould/);
    expect(historicBand(hours(2 * YEAR, () => 45))?.caution).toBeNull();
  });
});

describe('swings and shares', () => {
  test('spikes of one and two hours are ignored, a change of three hours is not', () => {
    for (const [length, expected] of [
      [1, 0],
      [2, 0],
      [3, 20],
    ] as const) {
      const series = hours(72, (h) => (h >= 40 && h < 40 + length ? 65 : 45));
      expect(Math.max(...swing(series, 24).map((one) => one ?? 0))).toBe(expected);
    }
  });
  test('a spike that has only begun at the end is ignored too', () => {
    expect(withoutSpikes(hours(48, (h) => (h >= 46 ? 70 : 45))).at(-1)).toBe(45);
  });
  test('a step of 12 % shows in the day and the week, and leaves each after its window', () => {
    const step = swing(
      hours(400, (h) => (h < 100 ? 40 : 52)),
      24,
    );
    expect(step[99]).toBe(0);
    expect(step[101]).toBe(12);
    expect(step[122]).toBe(12);
    expect(step[124]).toBe(0);
    expect(
      swing(
        hours(400, (h) => (h < 100 ? 40 : 52)),
        168,
      )[260],
    ).toBe(12);
  });
  test('rolling extremes agree with a plain loop on noise with gaps', () => {
    const noise = normals(900).map((z, i) => (i % 17 === 0 || (i > 300 && i < 340) ? null : 45 + 6 * z));
    const calm = withoutSpikes(noise);
    const fast = swing(noise, 24);
    const plain = calm.map((_, i) => {
      const window = calm.slice(Math.max(0, i - 23), i + 1).filter((one): one is number => one !== null);
      return window.length === 0 || window.length < Math.min(i + 1, 24) / 2
        ? null
        : Math.max(...window) - Math.min(...window);
    });
    expect(fast).toEqual(plain);
    expect(fast.includes(null)).toBe(true);
  });
  test('share of time in a band counts measured hours only', () => {
    expect(shareInBand([40, 45, null, 60], 40, 50)).toBeCloseTo(2 / 3, 12);
    expect(shareInBand([null], 40, 50)).toBeNull();
  });
  test('quantiles interpolate between order statistics', () => {
    expect(quantile([4, 1, 3, 2], 0.5)).toBe(2.5);
    expect(quantile([1, 2, 3, 4, 5], 0.1)).toBeCloseTo(1.4, 12);
    expect(quantile([], 0.5)).toBeNull();
  });
});
