/**
 * Rolling-origin look-backs on simulated fleets whose truth is not the model's (see `simulated/piano.ts`): several time constants,
 * friction, heavy tails, settling, creeping new strings, drifting sensors with gaps. Rivals are refitted at every origin; scoring
 * begins once they have ten intervals to learn from; a fleet counts as one.
 *
 * The fleets scored here (`scoringSeed`) were never looked at while anything was chosen (`choosingSeed`). The full count, 24
 * fleets of 28 and 3 of 200, runs with CROWNWATCH_FULL=1; a smaller one, with the same limits on the means, runs with the suite.
 */
import { describe, expect, test } from 'vitest';
import { fleetOf, look, report, said, scoreFleets, scoreSpreads } from './scoring/fleets.ts';
import { scoringSeed } from './simulated/seeds.ts';

const isFull = process.env.CROWNWATCH_FULL === '1';
const minutes = 60_000;

function fleets(count: number, size: number, from: number) {
  return Array.from({ length: count }, (_, i) => fleetOf(scoringSeed(from + i), size));
}

describe('fleets of 28, 3 to 6 visits', () => {
  const many = fleets(isFull ? 24 : 6, 28, 0);
  const some = isFull ? many : many.slice(0, 3);

  test('climate known up to the visit', { timeout: 30 * minutes }, () => {
    const score = scoreFleets(many.map((fleet) => look(fleet, 0)));
    console.log(report(`${many.length} fleets of 28, climate known`, score));
    expect(score.coverage.mean).toBeGreaterThanOrEqual(0.75);
    expect(score.coverage.mean).toBeLessThanOrEqual(0.85);
    expect(score.ratio.mean).toBeLessThanOrEqual(0.7);
  });

  test.each([30, 60])('issued %i days before', { timeout: 60 * minutes }, (horizonDays) => {
    const score = scoreFleets(some.map((fleet) => look(fleet, horizonDays)));
    console.log(report(`${some.length} fleets of 28, issued ${horizonDays} days before`, score));
    expect(score.coverage.mean).toBeGreaterThanOrEqual(0.7);
    expect(score.coverage.mean).toBeLessThanOrEqual(0.9);
    expect(score.ratio.mean).toBeLessThanOrEqual(0.85);
  });

  test('unison spread against a constant', { timeout: 30 * minutes }, () => {
    const score = scoreSpreads(many);
    console.log(
      `${many.length} fleets of 28, unison spread: ${score.readings} readings, error over a constant's ${said(score.ratio)}, ` +
        `coverage of the 80 % band ${said(score.coverage)}`,
    );
    expect(score.ratio.mean).toBeLessThanOrEqual(0.6);
    expect(score.coverage.mean).toBeGreaterThanOrEqual(0.7);
    expect(score.coverage.mean).toBeLessThanOrEqual(0.9);
  });
});

describe.runIf(isFull)('fleets of 200', () => {
  const large = isFull ? fleets(3, 200, 100) : [];

  test.each([
    [0, 0.75, 0.85, 0.7],
    [30, 0.7, 0.9, 0.85],
    [60, 0.7, 0.9, 0.85],
  ])('issued %i days before', { timeout: 120 * minutes }, (horizonDays, least, most, ratio) => {
    const score = scoreFleets(large.map((fleet) => look(fleet, horizonDays)));
    console.log(report(`3 fleets of 200, issued ${horizonDays} days before`, score));
    expect(score.coverage.mean).toBeGreaterThanOrEqual(least);
    expect(score.coverage.mean).toBeLessThanOrEqual(most);
    expect(score.ratio.mean).toBeLessThanOrEqual(ratio);
  });
});
