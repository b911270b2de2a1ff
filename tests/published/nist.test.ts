/**
 * Least squares against certified values.
 * Source: NIST Statistical Reference Datasets, linear regression: Norris (lower difficulty), Longley (higher). Data and certified
 * values read, but for eight of Longley's predictor values and Norris's residual sd, recalled; in exact arithmetic the whole sets
 * return every certified figure.
 *
 * Tolerances: Norris 1e-8 relative, Longley 1e-6 (its columns are so nearly dependent that about seven digits are lost).
 */
import { describe, expect, test } from 'vitest';
import { leastSquares } from '../../server/science/index.ts';

const NORRIS: readonly (readonly [y: number, x: number])[] = [
  [0.1, 0.2],
  [338.8, 337.4],
  [118.1, 118.2],
  [888.0, 884.6],
  [9.2, 10.1],
  [228.1, 226.5],
  [668.5, 666.3],
  [998.5, 996.3],
  [449.1, 448.6],
  [778.9, 777.0],
  [559.2, 558.2],
  [0.3, 0.4],
  [0.1, 0.6],
  [778.1, 775.5],
  [668.8, 666.9],
  [339.3, 338.0],
  [448.9, 447.5],
  [10.8, 11.6],
  [557.7, 556.0],
  [228.3, 228.1],
  [998.0, 995.8],
  [888.8, 887.6],
  [119.6, 120.2],
  [0.3, 0.3],
  [0.6, 0.3],
  [557.6, 556.8],
  [339.3, 339.1],
  [888.0, 887.2],
  [998.5, 999.0],
  [778.9, 779.0],
  [10.2, 11.1],
  [117.6, 118.3],
  [228.9, 229.2],
  [668.4, 669.1],
  [449.2, 448.9],
  [0.2, 0.5],
];

/** y, then six predictors. */
const LONGLEY: readonly (readonly number[])[] = [
  [60323, 83.0, 234289, 2356, 1590, 107608, 1947],
  [61122, 88.5, 259426, 2325, 1456, 108632, 1948],
  [60171, 88.2, 258054, 3682, 1616, 109773, 1949],
  [61187, 89.5, 284599, 3351, 1650, 110929, 1950],
  [63221, 96.2, 328975, 2099, 3099, 112075, 1951],
  [63639, 98.1, 346999, 1932, 3594, 113270, 1952],
  [64989, 99.0, 365385, 1870, 3547, 115094, 1953],
  [63761, 100.0, 363112, 3578, 3350, 116219, 1954],
  [66019, 101.2, 397469, 2904, 3048, 117388, 1955],
  [67857, 104.6, 419180, 2822, 2857, 118734, 1956],
  [68169, 108.4, 442769, 2936, 2798, 120445, 1957],
  [66513, 110.8, 444546, 4681, 2637, 121950, 1958],
  [68655, 112.6, 482704, 3813, 2552, 123366, 1959],
  [69564, 114.2, 502601, 3931, 2514, 125368, 1960],
  [69331, 115.7, 518173, 4806, 2572, 127852, 1961],
  [70551, 116.9, 554894, 4007, 2827, 130081, 1962],
];

const relative = (value: number, certified: number) => Math.abs(value / certified - 1);

describe('NIST Norris', () => {
  const fit = leastSquares(
    NORRIS.map(([, x]) => [1, x]),
    NORRIS.map(([y]) => y),
  );
  const sd = fit.residualSd ?? Number.NaN;
  const covariance = (i: number, j: number) => sd * sd * (fit.unscaledCovariance[i]?.[j] ?? Number.NaN);

  test.each([
    [0, -0.262323073774029, 0.232818234301152],
    [1, 1.00211681802045, 0.429796848199937e-3],
  ])('B%i', (i, certified, certifiedSd) => {
    expect(relative(fit.coefficients[i] ?? Number.NaN, certified)).toBeLessThan(1e-8);
    expect(relative(Math.sqrt(covariance(i, i)), certifiedSd)).toBeLessThan(1e-8);
  });
  test('residual sd and covariance', () => {
    expect(relative(sd, 0.884796396144373)).toBeLessThan(1e-8);
    expect(relative(covariance(0, 1), -7.7432753633957e-5)).toBeLessThan(1e-8);
  });
});

describe('NIST Longley', () => {
  const fit = leastSquares(
    LONGLEY.map(([, ...predictors]) => [1, ...predictors]),
    LONGLEY.map(([y = Number.NaN]) => y),
  );
  const sd = fit.residualSd ?? Number.NaN;

  test.each([
    [0, -3482258.63459582, 890420.383607373],
    [1, 15.0618722713733, 84.9149257747669],
    [2, -0.035819179292591, 0.0334910077722432],
    [3, -2.02022980381683, 0.488399681651699],
    [4, -1.03322686717359, 0.214274163161675],
    [5, -0.0511041056535807, 0.22607320006937],
    [6, 1829.15146461355, 455.478499142212],
  ])('B%i', (i, certified, certifiedSd) => {
    expect(relative(fit.coefficients[i] ?? Number.NaN, certified)).toBeLessThan(1e-6);
    const variance = sd * sd * (fit.unscaledCovariance[i]?.[i] ?? Number.NaN);
    expect(relative(Math.sqrt(variance), certifiedSd)).toBeLessThan(1e-6);
  });
  test('residual sd', () => expect(relative(sd, 304.854073561965)).toBeLessThan(1e-6));
});

describe('misuse', () => {
  test('weights: doubling a row is weighting it by two', () => {
    const rows = [
      [1, 0],
      [1, 1],
      [1, 2],
      [1, 2],
    ];
    const y = [0, 1.2, 1.7, 1.7];
    const twice = leastSquares(rows, y);
    const weighted = leastSquares(rows.slice(0, 3), y.slice(0, 3), [1, 1, 2]);
    expect(weighted.coefficients[0]).toBeCloseTo(twice.coefficients[0] ?? Number.NaN, 12);
    expect(weighted.coefficients[1]).toBeCloseTo(twice.coefficients[1] ?? Number.NaN, 12);
  });
  test('dependent columns, an empty column, too few rows and odd shapes are refused', () => {
    expect(() =>
      leastSquares(
        [
          [1, 2],
          [2, 4],
          [3, 6],
        ],
        [1, 2, 3],
      ),
    ).toThrow(/depend/);
    expect(() =>
      leastSquares(
        [
          [1, 0],
          [1, 0],
        ],
        [1, 2],
      ),
    ).toThrow(/zero/);
    expect(() => leastSquares([[1, 2]], [1])).toThrow(/at least/);
    expect(() => leastSquares([[1], [1]], [1])).toThrow(/2 entries/);
  });
});
