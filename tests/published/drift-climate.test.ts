/**
 * The two linear systems under the forecast against independent solutions:
 * - the daily course (Kalman filter and its draws) against the same model solved as one dense normal system, numpy 2.4.6;
 * - the board's lag against Crank's sheet with surface evaporation, integrated with scipy 1.17.1 (`solve_ivp`, BDF, 800 cells).
 */
import { describe, expect, test } from 'vitest';
import { boardLag, usualLagDays } from '../../server/science/drift/board-lag.ts';
import {
  drawCourse,
  fitCourse,
  lagGridDays,
  moistureCourse,
  seededRandom,
} from '../../server/science/drift/index.ts';
import { advanceSlab, createSlab, slabMeanPct, soundboardPart } from '../../server/science/index.ts';

describe('daily course, its standard deviations given', () => {
  const values: (number | null)[] = [
    48.59, 47.03, 50.25, 52.25, 54.39, 51.31, 49.31, 48.6, 53.19, 55.83, 51.73, 47.19, 48.0, 55.65, 51.44,
    45.6, 50.52, 47.26, 48.83, 49.22, 48.51, 52.27, 50.39, 48.77, 51.72, 52.94, 45.48, 49.59, 47.38, 49.75,
    46.35, 50.23, 50.0, 49.15, 46.86, 48.76, 46.61, 45.76, 50.44, 46.37,
  ];
  for (const gap of [7, 8, 20]) values[gap] = null;
  const fixed = (median: number) => ({ median, logSd: 1e-6 });
  const course = fitCourse(
    values,
    14_610 * 86_400_000,
    { mean: [44, 2, -1], covariance: [25, 3, 0, 3, 16, -2, 0, -2, 9] },
    { slowSd: fixed(5), fastSd: fixed(3), fastDays: fixed(4) },
  );
  const count = 40_000;
  const paths = drawCourse(course, 30, count, seededRandom(3));

  // Tolerance: four standard errors of the mean of the draws, and of their standard deviation.
  test.each([
    ['the next day', 0, 46.56031815411, 2.14237191401],
    ['thirty days on', 29, 45.70952180742, 5.72281788848],
  ])('%s, computed with numpy 2.4.6', (_, day, mean, sd) => {
    const drawn = Array.from({ length: count }, (__, k) => paths[k * 30 + day] ?? Number.NaN);
    const average = drawn.reduce((sum, value) => sum + value, 0) / count;
    const spread = Math.sqrt(drawn.reduce((sum, value) => sum + (value - average) ** 2, 0) / (count - 1));
    expect(Math.abs(average - mean)).toBeLessThan((4 * sd) / Math.sqrt(count));
    expect(Math.abs(spread / sd - 1)).toBeLessThan(4 / Math.sqrt(2 * count));
  });
});

describe("mean uptake of Crank's sheet behind a surface resistance, computed with scipy 1.17.1", () => {
  // Half thickness 4 mm, 1e-10 m²/s: the unit of time l²/D is 1.852 days, and the mean delay is (1/3 + 1/L) of it.
  const unit = 0.004 ** 2 / 1e-10 / 86_400;
  test.each([
    [2, [0.1, 0.3, 0.6, 1, 2], [0.13362781, 0.31899572, 0.51949474, 0.69784116, 0.90524493]],
    [0.5, [0.1, 0.3, 0.6, 1, 2, 4], [0.04462325, 0.1238711, 0.22928693, 0.35023988, 0.57595485, 0.81939478]],
  ])('L = %f', (biot, times, expected) => {
    const { weights, ratesPerDay } = boardLag(unit * (1 / 3 + 1 / biot));
    times.forEach((time, i) => {
      const uptake = weights.reduce(
        (sum, w, k) => sum + w * (1 - Math.exp(-(ratesPerDay[k] ?? 0) * time * unit)),
        0,
      );
      expect(Math.abs(uptake - (expected[i] ?? 0))).toBeLessThan(5e-4);
    });
  });
});

test.each(['bare', 'lacquer', 'polyurethane'] as const)(
  'follows the slab of a board with %s within 0.05 %%MC',
  (finish) => {
    const days = 60;
    const random = seededRandom(8);
    let humidity = 45;
    const hours = Array.from({ length: days * 24 }, () => {
      humidity += 0.05 * (45 - humidity) + 1.2 * random.normal();
      return { temperatureC: 21, humidityPct: Math.min(80, Math.max(15, humidity)) };
    });
    const lag = usualLagDays(finish);
    const course = moistureCourse(
      {
        startMs: 0,
        stepMs: 3_600_000,
        temperatureC: hours.map(({ temperatureC }) => temperatureC),
        humidityPct: hours.map(({ humidityPct }) => humidityPct),
      },
      [lag],
    );
    const means = new Float64Array(hours.length);
    const slab = createSlab(
      soundboardPart({ thicknessMm: 8, finish, species: 'spruce-sitka' }),
      course.meanPct[0]?.[0] ?? 0,
    );
    advanceSlab(slab, hours, { means });
    const worst = means.reduce(
      (most, mean, i) => Math.max(most, Math.abs(mean - (course.meanPct[0]?.[i] ?? 0))),
      0,
    );
    const range = Math.max(...means) - Math.min(...means);
    expect(slabMeanPct(slab)).toBeGreaterThan(0);
    expect(range).toBeGreaterThan(0.4);
    expect(worst).toBeLessThan(0.05);
  },
);

test('lags outside what a board can have are refused', () => {
  expect(() => boardLag(0.5)).toThrow(/lagDays/);
  expect(() => boardLag(1000)).toThrow(/lagDays/);
  for (const days of lagGridDays) {
    const { weights } = boardLag(days);
    expect(weights.reduce((sum, weight) => sum + weight, 0)).toBeCloseTo(1, 12);
  }
});
