/** Learning goes on: one more visit, a wild reading, a measurement that tells less. */
import { describe, expect, test } from 'vitest';
import { drawDrift, drawnChange } from '../../server/science/drift/draws.ts';
import {
  addVisit,
  type DriftObservation,
  fitDrift,
  ownSlope,
  predictOffset,
  type Register,
  registers,
} from '../../server/science/drift/index.ts';
import { seededRandom } from '../../server/science/drift/random.ts';
import { simulatedFleet } from './simulated/fleet.ts';
import { knownOf } from './simulated/past.ts';
import { scoringSeed } from './simulated/seeds.ts';

const observationsOfFleet = (n: number, size = 28): DriftObservation[] =>
  simulatedFleet(scoringSeed(n), size)
    .map(knownOf)
    .flatMap(({ intervals }) => intervals.map(({ observation }) => observation));

const instrumentOf = ({ instrument, kind, finish }: DriftObservation) => ({ id: instrument, kind, finish });

describe('one more visit without refitting the fleet', () => {
  test('with a normal residual it is the posterior of all rows at the same standard deviations, exactly', () => {
    const rows = observationsOfFleet(40).map((row) => ({
      ...row,
      moistureChangePct: (row.moistureChangePct as number[])[3] ?? 0,
    }));
    const last = rows.at(-1) as DriftObservation;
    const added = addVisit(fitDrift(rows.slice(0, -1), { prior: 'trade', residual: 'normal' }), last);
    // The reference: normal equations over every row, put together here from scratch at the posterior's own figures.
    const { tenor } = added.registers;
    const p = tenor.columns.length;
    const measured = rows.filter((row) => row.changeCents.tenor !== undefined);
    const x = measured.map((row) => [
      row.moistureChangePct as number,
      row.kind === 'upright' ? (row.moistureChangePct as number) : 0,
      row.years,
      row.temperatureChangeC,
      row.settlingCents ?? 0,
      row.freshStrings ?? 0,
    ]);
    const prior = fitDrift([], { prior: 'trade', residual: 'normal' }).registers.tenor;
    const precision = [...prior.precision];
    const right = [...prior.right];
    for (const id of new Set(measured.map(({ instrument }) => instrument))) {
      const own = measured.flatMap((row, i) => (row.instrument === id ? [i] : []));
      const zz = own.reduce((sum, i) => sum + (x[i]?.[0] ?? 0) ** 2, 0);
      const gain = tenor.slopeSd ** 2 / (tenor.residualSd ** 2 + tenor.slopeSd ** 2 * zz);
      const zy = own.reduce((sum, i) => sum + (x[i]?.[0] ?? 0) * (measured[i]?.changeCents.tenor ?? 0), 0);
      const zx = Array.from({ length: p }, (_, a) =>
        own.reduce((sum, i) => sum + (x[i]?.[0] ?? 0) * (x[i]?.[a] ?? 0), 0),
      );
      for (let a = 0; a < p; a++) {
        const xy = own.reduce((sum, i) => sum + (x[i]?.[a] ?? 0) * (measured[i]?.changeCents.tenor ?? 0), 0);
        right[a] = (right[a] ?? 0) + (xy - gain * (zx[a] ?? 0) * zy) / tenor.residualSd ** 2;
        for (let b = 0; b < p; b++) {
          const xx = own.reduce((sum, i) => sum + (x[i]?.[a] ?? 0) * (x[i]?.[b] ?? 0), 0);
          precision[a * p + b] =
            (precision[a * p + b] ?? 0) + (xx - gain * (zx[a] ?? 0) * (zx[b] ?? 0)) / tenor.residualSd ** 2;
        }
      }
    }
    // Equal normal equations: the coefficients solve them.
    for (let a = 0; a < p; a++) {
      const left = tenor.coefficients.reduce((sum, value, b) => sum + (precision[a * p + b] ?? 0) * value, 0);
      expect(Math.abs(left - (right[a] ?? 0))).toBeLessThan(1e-8 * Math.max(1, Math.abs(right[a] ?? 0)));
    }
  });

  test('with the working model it comes close to the fleet fitted anew', () => {
    const rows = observationsOfFleet(41);
    const last = rows.at(-1) as DriftObservation;
    const added = addVisit(fitDrift(rows.slice(0, -1), { prior: 'trade' }), last);
    const anew = fitDrift(rows, { prior: 'trade' });
    for (const register of registers) {
      const a = ownSlope(added, instrumentOf(last), register);
      const b = ownSlope(anew, instrumentOf(last), register);
      expect(Math.abs(a.slopeCentsPerPct - b.slopeCentsPerPct)).toBeLessThan(0.5 * b.slopeSd);
      expect(a.rows).toBe(b.rows);
    }
  });

  test('an instrument nobody had seen, and a register it had not', () => {
    const rows = observationsOfFleet(42);
    const posterior = fitDrift(rows, { prior: 'trade' });
    const fresh: DriftObservation = {
      ...(rows[0] as DriftObservation),
      instrument: 'new',
      changeCents: { top: 2 },
    };
    const once = addVisit(posterior, fresh);
    const twice = addVisit(once, { ...fresh, changeCents: { tenor: 12 } });
    expect(ownSlope(twice, instrumentOf(fresh), 'top').rows).toBe(1);
    expect(ownSlope(twice, instrumentOf(fresh), 'tenor').rows).toBe(1);
    expect(ownSlope(twice, instrumentOf(fresh), 'bass').rows).toBe(0);
    expect(posterior.instruments.new).toBeUndefined();
  });
});

describe('a wild reading', () => {
  /**
   * Twelve standard deviations from what the others foretold, and at least 30 cents: a slip. Two other readings of the instrument
   * must stand against it: of two that contradict each other nobody can tell which is the slip.
   */
  const trials = [50, 51].flatMap((n) => {
    const rows = observationsOfFleet(n);
    return Array.from({ length: 24 }, (_, t) => {
      const at = (t * 17 + n) % rows.length;
      const register = registers[t % 5] as Register;
      const row = rows[at] as DriftObservation;
      const { [register]: left, ...others } = row.changeCents;
      if (left === undefined) return null;
      const without = fitDrift(rows.with(at, { ...row, changeCents: others }), { prior: 'trade' });
      const instrument = instrumentOf(row);
      const before = ownSlope(without, instrument, register);
      if (before.rows < 2) return null;
      const expected = predictOffset(without, instrument, register, { leftCents: 0, ...changeOf(row) });
      if (expected === null) return null;
      const wild = expected.meanCents + (t % 2 === 0 ? 1 : -1) * Math.max(30, 12 * expected.sdCents);
      const slipped = { ...row, changeCents: { ...row.changeCents, [register]: wild } };
      const shift = (posterior: typeof without) =>
        Math.abs(ownSlope(posterior, instrument, register).slopeCentsPerPct - before.slopeCentsPerPct) /
        before.slopeSd;
      return {
        fitted: shift(fitDrift(rows.with(at, slipped), { prior: 'trade' })),
        added: shift(addVisit(without, { ...row, changeCents: { [register]: wild } })),
        plain: shift(fitDrift(rows.with(at, slipped), { prior: 'trade', residual: 'normal' })),
      };
    }).filter((trial) => trial !== null);
  });

  test('moves a slope by at most 0.3 of its standard deviation, fitted anew or added', () => {
    expect(trials.length).toBeGreaterThan(15);
    expect(Math.max(...trials.map(({ fitted }) => fitted))).toBeLessThan(0.3);
    expect(Math.max(...trials.map(({ added }) => added))).toBeLessThan(0.3);
  });

  test('would move it by far more if the residual were taken as normal', () => {
    const moved = trials.filter(({ plain }) => plain > 0.3).length;
    expect(moved / trials.length).toBeGreaterThan(0.7);
  });
});

function changeOf(row: DriftObservation) {
  return {
    moistureChangePct: row.moistureChangePct,
    years: row.years,
    temperatureChangeC: row.temperatureChangeC,
    settlingCents: row.settlingCents ?? 0,
    freshStrings: row.freshStrings ?? 0,
  };
}

test('readings of A4 alone weigh less once they are seen to scatter more', () => {
  const posterior = fitDrift(
    [60, 61, 62].flatMap((n) =>
      observationsOfFleet(n).map((row) => ({ ...row, instrument: `${n}${row.instrument}` })),
    ),
    { prior: 'trade' },
  );
  expect(posterior.onlyA4Variance).toBeGreaterThan(1.05);
});

test('joint draws have the means, standard deviations and correlations they should', () => {
  const rows = observationsOfFleet(43);
  const posterior = fitDrift(rows, { prior: 'trade' });
  const row = rows[10] as DriftObservation;
  const change = { ...changeOf(row), moistureChangePct: 2, years: 0.5 };
  const count = 20_000;
  const draws = drawDrift(posterior, instrumentOf(row), count, seededRandom(4));
  const drawn = draws.registers.map((one) =>
    Float64Array.from({ length: count }, (_, k) => drawnChange(draws, one, k, change)),
  );
  const mean = (values: Float64Array) => values.reduce((sum, value) => sum + value, 0) / values.length;
  const cross = (a: Float64Array, b: Float64Array) => {
    const [ma, mb] = [mean(a), mean(b)];
    return a.reduce((sum, value, k) => sum + (value - ma) * ((b[k] ?? 0) - mb), 0) / count;
  };
  drawn.forEach((values, r) => {
    const expected = predictOffset(posterior, instrumentOf(row), registers[r] as Register, {
      leftCents: 0,
      ...change,
    });
    // Four standard errors of the mean; the t law's fourth moment makes the sd's error about twice the normal's.
    expect(Math.abs(mean(values) - (expected?.meanCents ?? 0))).toBeLessThan(
      (4 * (expected?.sdCents ?? 0)) / Math.sqrt(count),
    );
    expect(Math.abs(Math.sqrt(cross(values, values)) / (expected?.sdCents ?? 1) - 1)).toBeLessThan(0.06);
  });
  const [, tenor, middle] = drawn as [Float64Array, Float64Array, Float64Array];
  expect(cross(tenor, middle) / Math.sqrt(cross(tenor, tenor) * cross(middle, middle))).toBeGreaterThan(0.2);
});
