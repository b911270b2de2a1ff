/**
 * The drift fit with a flat prior against reference mixed-model software: R 4.2.2, lme4 1.1-31 (REML, bobyqa). The data and
 * the reference's answers stand in `mixed-model/`:
 * - `sleepstudy.csv`: Belenky et al. 2003, as distributed with lme4 and used in Bates et al., J. Stat. Softw. 67(1), 2015.
 * - `drift-small.csv`: made up, in this project's shape; `.reml.csv` and `.blup.csv` computed with R 4.2.2, lme4 1.1-31.
 *
 * Tolerances: the reference stops its search at about 1e-8 in the ratio of standard deviations, which is flat near its best to
 * first order; coefficients and their errors follow to 1e-4 relative, standard deviations to 1e-3, the log-likelihood (level at
 * its best) to 1e-5 absolute.
 */
import { readFileSync } from 'node:fs';
import path from 'node:path';
import { parse } from 'csv-parse/sync';
import { describe, expect, test } from 'vitest';
import {
  type DriftObservation,
  fitDrift,
  ownSlope,
  type Register,
  registers,
} from '../../server/science/drift/index.ts';

const folder = path.join(import.meta.dirname, 'mixed-model');
const table = (name: string): Record<string, string>[] =>
  parse(readFileSync(path.join(folder, name)), { columns: true, trim: true });

const number = (row: Record<string, string>, name: string): number => {
  const value = Number(row[name]);
  if (row[name] === undefined || Number.isNaN(value)) throw new Error(`no number in column ${name}`);
  return value;
};

function near(actual: number | null | undefined, expected: number, relative: number): void {
  expect(Math.abs((actual ?? Number.NaN) / expected - 1)).toBeLessThan(relative);
}

const plain = { kind: 'grand', finish: null, fromMs: 0, toMs: 0 } as const;

describe('sleepstudy, through the origin: 0 + Days + (0 + Days | Subject), day 0 subtracted', () => {
  const rows = table('sleepstudy.csv');
  const start = new Map(
    rows.filter((row) => row.Days === '0').map((row) => [row.Subject, number(row, 'Reaction')]),
  );
  const observations = rows.map(
    (row): DriftObservation => ({
      ...plain,
      instrument: row.Subject ?? '',
      moistureChangePct: number(row, 'Days'),
      years: 0,
      temperatureChangeC: 0,
      changeCents: { middle: number(row, 'Reaction') - (start.get(row.Subject) ?? Number.NaN) },
    }),
  );
  const posterior = fitDrift(observations, { prior: 'flat' });
  const { middle } = posterior.registers;

  test('fixed slope, standard deviations and log-likelihood', () => {
    expect(middle.columns).toEqual(['moisture']);
    near(middle.coefficients[0], 9.63885953216, 1e-4);
    near(middle.slopeSd, 6.55663762873, 1e-3);
    near(middle.residualSd, 27.31208482678, 1e-3);
    expect(middle.logLikelihood).toBeCloseTo(-874.565423208, 4);
    expect(Math.abs((middle.logLikelihood ?? 0) + 874.565423208)).toBeLessThan(1e-5);
  });

  test.each([
    ['308', 10.6311063485],
    ['309', -9.5849205832],
    ['335', -8.6124210285],
    ['352', 11.8427070867],
  ])('slope deviation of subject %s', (id, deviation) => {
    near(ownSlope(posterior, { id, kind: 'grand', finish: null }, 'middle').deviation, deviation, 1e-3);
  });

  test('what was not measured is not answered', () => {
    expect(posterior.registers.bass.state).toBe('unknown');
    expect(posterior.registers.bass.note).toContain('Too few');
  });
});

describe('drift-small: five registers, unbalanced, with missing ones', () => {
  const intervals = new Map<string, DriftObservation & { changeCents: Partial<Record<Register, number>> }>();
  for (const row of table('drift-small.csv')) {
    const key = [row.instrument, row.moisture_change_pct, row.elapsed_years].join(' ');
    const interval = intervals.get(key) ?? {
      ...plain,
      instrument: row.instrument ?? '',
      moistureChangePct: number(row, 'moisture_change_pct'),
      years: number(row, 'elapsed_years'),
      temperatureChangeC: number(row, 'temperature_change_c'),
      changeCents: {},
    };
    interval.changeCents[row.register as Register] = number(row, 'pitch_change_cents');
    intervals.set(key, interval);
  }
  const posterior = fitDrift([...intervals.values()], { prior: 'flat' });
  const expected = table('drift-small.reml.csv');
  const deviations = table('drift-small.blup.csv');

  test('the reference has all five', () => {
    expect(expected.map((row) => row.register)).toEqual([...registers]);
    expect(deviations).toHaveLength(295);
  });

  test.each(expected.map((row) => [row.register as Register, row] as const))('%s', (register, row) => {
    const fitted = posterior.registers[register];
    expect(fitted.columns).toEqual(['moisture', 'years', 'temperature']);
    expect([fitted.rows, fitted.instruments]).toEqual([number(row, 'n'), number(row, 'groups')]);
    ['moisture', 'elapsed', 'temperature'].forEach((name, i) => {
      near(fitted.coefficients[i], number(row, name), 1e-4);
      near(Math.sqrt(fitted.covariance[i * 3 + i] ?? Number.NaN), number(row, `se_${name}`), 1e-4);
    });
    near(fitted.slopeSd, number(row, 'sd_slope'), 1e-3);
    near(fitted.residualSd, number(row, 'sd_residual'), 1e-3);
    expect(Math.abs((fitted.logLikelihood ?? 0) - number(row, 'reml_loglik'))).toBeLessThan(1e-5);
  });

  test.each(registers)('slope deviations and their conditional sd: %s', (register) => {
    const rows = deviations.filter((row) => row.register === register);
    expect(rows.length).toBeGreaterThan(50);
    const scale = posterior.registers[register].slopeSd;
    for (const row of rows) {
      const own = ownSlope(posterior, { id: row.instrument ?? '', kind: 'grand', finish: null }, register);
      // Against the spread of the slopes: a deviation of nearly nothing has no relative error.
      expect(Math.abs(own.deviation - number(row, 'slope_deviation')) / scale).toBeLessThan(1e-3);
      near(own.conditionalSd, number(row, 'conditional_sd'), 1e-3);
    }
  });
});
