/**
 * Diffusion through a sheet.
 * Source: J. Crank, The Mathematics of Diffusion, 2nd ed. 1975, p. 48 (4.18, both faces at a new value), p. 60 (4.53, faces
 * behind a resistance), half-time constant 0.0492; the series as quoted and worked in the documentation of polykin.
 * The values below were computed from the series to six digits; Fourier number = D t / l², l the whole thickness.
 *
 * Tolerance 0.5 % of the change, at the default grid. It is of the change, not of the value: at the first Fourier number a
 * front has reached 1 % of the thickness, and the middle still stands at 0.
 */
import { describe, expect, test } from 'vitest';
import {
  type Air,
  advanceSlab,
  bridgeCapPart,
  cellShares,
  createSlab,
  DEFAULT_CELLS,
  equilibriumMoisturePct,
  memoryHours,
  type Part,
  type Slab,
  slabMeanPct,
  soundboardPart,
} from '../../server/science/index.ts';

const SERIES: readonly (readonly [fourier: number, uptake: number, middle: number])[] = [
  [0.0001, 0.022568, 0.0],
  [0.001, 0.071365, 0.0],
  [0.005, 0.159577, 0.000001],
  [0.01, 0.225676, 0.000814],
  [0.02, 0.319154, 0.024839],
  [0.03, 0.390872, 0.082454],
  [0.05, 0.504088, 0.227688],
  [0.0625, 0.562234, 0.314554],
  [0.1, 0.697882, 0.525513],
  [0.15, 0.815565, 0.710291],
  [0.2, 0.887403, 0.823133],
  [0.25, 0.93126, 0.892023],
  [0.3, 0.958034, 0.93408],
  [0.5, 0.99417, 0.990843],
];

const AIR: Air = { temperatureC: 20, humidityPct: 50 };
const STEADY_PCT = equilibriumMoisturePct(20, 50);
const THICKNESS_M = 0.1;
const HOUR_S = 3600;
/** An hour is this much of a Fourier number: short enough that the step's own error vanishes beside the grid's. */
const FOURIER_PER_HOUR = 1e-6;

/** A sheet whose faces are at once as moist as the air asks. */
function sheet(cells: number, fourierPerHour = FOURIER_PER_HOUR): Part {
  const open = { emissionMps: 1e6, filmSPerM: 0 };
  const diffusivityM2s = (fourierPerHour * THICKNESS_M ** 2) / HOUR_S;
  return { name: 'sheet', thicknessM: THICKNESS_M, diffusivityM2s, top: open, underside: open, cells };
}

const hours = (count: number): Air[] => new Array<Air>(count).fill(AIR);

/** Value in the middle of an even grid: the even parabola through the averages of the cells about it. */
function middle({ part, profilePct }: Slab): number {
  const half = part.cells / 2;
  const shares = cellShares(part.cells);
  const [w1 = 0, w2 = 0] = shares.slice(half);
  const [m1 = 0, m2 = 0] = profilePct.slice(half);
  const square1 = (w1 * w1) / 3;
  const square2 = ((w1 + w2) ** 3 - w1 ** 3) / (3 * w2);
  return m1 - ((m2 - m1) * square1) / (square2 - square1);
}

function courseOf(cells: number): { uptake: number; middle: number }[] {
  let slab = createSlab(sheet(cells), 0);
  let done = 0;
  return SERIES.map(([fourier]) => {
    const until = Math.round(fourier / FOURIER_PER_HOUR);
    slab = advanceSlab(slab, hours(until - done));
    done = until;
    return { uptake: slabMeanPct(slab) / STEADY_PCT, middle: middle(slab) / STEADY_PCT };
  });
}

describe("Crank's series, both faces at a new value", () => {
  test('polykin: 0.562233541762138 and 0.3145542331096479 at D t/l² = 0.0625 are the values of the table', () => {
    expect(SERIES.find(([fourier]) => fourier === 0.0625)?.[1]).toBeCloseTo(0.562233541762138, 6);
    expect(SERIES.find(([fourier]) => fourier === 0.0625)?.[2]).toBeCloseTo(0.3145542331096479, 6);
  });

  test('uptake and middle at 14 Fourier numbers within 0.5 % of the change at the default grid', () => {
    const course = courseOf(DEFAULT_CELLS);
    const misses = SERIES.flatMap(([fourier, uptake, middleValue], i) => {
      const here = course[i] ?? { uptake: Number.NaN, middle: Number.NaN };
      const error = Math.max(Math.abs(here.uptake - uptake), Math.abs(here.middle - middleValue));
      return error <= 0.005 ? [] : [{ fourier, error }];
    });
    expect(misses).toEqual([]);
  });

  test('the error falls with the square of the cell, measured on 3 grids (second order)', () => {
    const at = SERIES.findIndex(([fourier]) => fourier === 0.1);
    const error = (cells: number) => Math.abs((courseOf(cells)[at]?.uptake ?? Number.NaN) - 0.697882);
    const [coarse, medium, fine] = [error(10), error(20), error(40)];
    for (const order of [Math.log2(coarse / medium), Math.log2(medium / fine)]) {
      expect(order).toBeGreaterThan(1.8);
      expect(order).toBeLessThan(2.2);
    }
  });

  test('half is taken up at D t/l² = 0.0492, within 1 %', () => {
    const means = new Float64Array(60_000);
    advanceSlab(createSlab(sheet(DEFAULT_CELLS), 0), hours(means.length), { means });
    const half = means.findIndex((mean) => mean >= STEADY_PCT / 2) * FOURIER_PER_HOUR;
    expect(Math.abs(half / 0.0492 - 1)).toBeLessThan(0.01);
  });

  test('mass balance: what came through the faces is what the sheet gained, to 1e-12 of it', () => {
    // One cell's exchange with the air through half its own thickness: the implicit step uses the value at its end.
    const part = sheet(DEFAULT_CELLS, 1e-3);
    const edgeM = (cellShares(part.cells)[0] ?? Number.NaN) * part.thicknessM;
    const conductance = 1 / (1 / part.top.emissionMps + edgeM / 2 / part.diffusivityM2s);
    let slab = createSlab(part, 0);
    let entered = 0;
    for (let hour = 0; hour < 300; hour += 1) {
      slab = advanceSlab(slab, [AIR]);
      const first = slab.profilePct[0] ?? Number.NaN;
      const last = slab.profilePct.at(-1) ?? Number.NaN;
      entered += HOUR_S * conductance * (2 * STEADY_PCT - first - last);
    }
    expect(Math.abs(slabMeanPct(slab) * part.thicknessM - entered) / entered).toBeLessThan(1e-12);
  });
});

/** Root n of b tan b = L, in the n-th branch of the tangent. */
function root(L: number, n: number): number {
  let low = n * Math.PI;
  let high = low + Math.PI / 2;
  for (let i = 0; i < 80; i += 1) {
    const b = (low + high) / 2;
    if (b * Math.tan(b) < L) low = b;
    else high = b;
  }
  return (low + high) / 2;
}

/** (4.53): uptake of a sheet of half thickness a behind a conductance k, roots of b tan b = L = k a / D. */
function uptakeBehindFilm(t: number, D: number, a: number, k: number): number {
  const L = (k * a) / D;
  let left = 0;
  for (let n = 0; n < 60; n += 1) {
    const b = root(L, n);
    left += (2 * L * L * Math.exp((-b * b * D * t) / (a * a))) / (b * b * (b * b + L * L + L));
  }
  return 1 - left;
}

describe("Crank's series, faces behind a resistance", () => {
  test.each(['bare', 'lacquer', 'varnish', 'shellac', 'polyurethane'] as const)(
    'a real 8 mm board, %s, on hourly steps: within 1 % of the change at every hour of 20 days',
    (finish) => {
      const part = soundboardPart({ thicknessMm: 8, finish, species: 'spruce-sitka' });
      const means = new Float64Array(480);
      advanceSlab(createSlab(part, 0), hours(480), { means });
      const k = 1 / (1 / part.top.emissionMps + part.top.filmSPerM);
      for (let hour = 1; hour <= 480; hour += 1) {
        const expected = uptakeBehindFilm(hour * HOUR_S, part.diffusivityM2s, part.thicknessM / 2, k);
        expect(Math.abs((means[hour - 1] ?? Number.NaN) / STEADY_PCT - expected)).toBeLessThan(0.01);
      }
    },
  );

  // Summed resistances are exact in both limits; between them they overstate the first root by 5.07 % at most (at L = 2.5, by
  // bisection over six decades of L).
  test.each([
    ['bare board', soundboardPart({ thicknessMm: 8, finish: 'bare', species: 'spruce-sitka' }), 2],
    [
      'polyurethane board',
      soundboardPart({ thicknessMm: 8, finish: 'polyurethane', species: 'spruce-sitka' }),
      2,
    ],
    ['bridge cap, one face sealed', bridgeCapPart(), 1],
    ['open sheet', { ...sheet(10), diffusivityM2s: 1e-9 }, 2],
  ] as const)('%s: memory is three of its slowest time constants', (_, part, faces) => {
    const a = part.thicknessM / faces;
    const k = 1 / (1 / part.top.emissionMps + part.top.filmSPerM);
    const b = root((k * a) / part.diffusivityM2s, 0);
    const hoursOfMemory = (3 * a * a) / (b * b * part.diffusivityM2s) / HOUR_S;
    expect(Math.abs(memoryHours(part) - hoursOfMemory)).toBeLessThan(1 + 0.051 * hoursOfMemory);
  });
});
