/** When to tune: best dates, concerts, and whether to wait. */
import { describe, expect, test } from 'vitest';
import { bestDates, roomClimate, waitAdvice } from '../../server/science/drift/index.ts';
import { day, input, room, startMs, stillUnisons } from './plain-piano.ts';

describe('when to tune', () => {
  test('two tunings a year: better than even spacing from an ill-chosen day, judged on other paths', () => {
    const dates = bestDates({ ...input(500, 200), tunings: 2, paths: 200 });
    expect(dates.dates).toHaveLength(2);
    expect(dates.daysWithin).toBeGreaterThan(dates.habit.daysWithin);
    expect(dates.gain.lowDays).toBeLessThanOrEqual(dates.gain.meanDays);
    expect(dates.gain.highDays).toBeGreaterThanOrEqual(dates.gain.meanDays);
    for (const { because } of dates.dates) expect(because).toMatch(/board moves about \d/);
  });

  test('more tunings never mean fewer days', () => {
    const within = [1, 2, 4].map(
      (tunings) => bestDates({ ...input(500, 200), tunings, paths: 200 }).daysWithin,
    );
    expect(within[1]).toBeGreaterThanOrEqual((within[0] ?? 0) - 2);
    expect(within[2]).toBeGreaterThanOrEqual((within[1] ?? 0) - 2);
  });

  test('a concert draws a date towards it', () => {
    const atMs = startMs + (500 + 150) * day;
    const plain = bestDates({ ...input(500, 200, 'studio'), tunings: 1, paths: 200 });
    const drawn = bestDates({
      ...input(500, 200, 'studio'),
      tunings: 1,
      paths: 200,
      events: [{ atMs, countsAsDays: 500 }],
    });
    const daysBefore = (dates: typeof plain) => (atMs - (dates.dates[0]?.atMs ?? 0)) / day;
    expect(daysBefore(drawn)).toBeGreaterThanOrEqual(-6);
    expect(daysBefore(drawn)).toBeLessThan(40);
    expect(Math.abs(daysBefore(plain))).toBeGreaterThan(Math.abs(daysBefore(drawn)));
  });

  test('in the midst of the turn of the season: wait; in its calm: do not', () => {
    // Tuned in the dry of winter. Early summer rises fastest about day 136 of the year; it is still by late August.
    const quiet = (days: number) => room(days, { noise: 0.6 });
    const turning = waitAdvice({ ...input(365 + 120, 70, 'studio', quiet(365 + 120)), spread: stillUnisons });
    const calm = waitAdvice({ ...input(365 + 228, 178, 'studio', quiet(365 + 228)), spread: stillUnisons });
    expect(turning.movingPctPerDay).toBeGreaterThan(2 * Math.abs(calm.movingPctPerDay));
    expect(calm.wait).toBe(false);
    if (turning.wait) expect(turning.gainDays).toBeGreaterThanOrEqual(5);
  });

  test('after a burst of damp that will pass: wait, but never past a concert, nor for unisons that ask', () => {
    const air = room(500, { noise: 1, swing: 0 });
    const humidity = Float64Array.from(
      air.humidityPct,
      (value, t) => ((value ?? 0) as number) + (t >= 482 ? 16 : 0),
    );
    const damp = {
      ...input(500, 100, 'studio', { ...air, humidityPct: humidity }),
      spread: stillUnisons,
      climate: roomClimate({ own: air }),
    };
    const advice = waitAdvice(damp);
    expect(advice).toMatchObject({ wait: true });
    expect(advice.gainDays).toBeGreaterThan(5);
    expect((advice.untilMs ?? 0) - startMs).toBeLessThanOrEqual((500 + 21) * day);
    expect(waitAdvice(damp, startMs + 501 * day).wait).toBe(false);
    const soon = waitAdvice(damp, startMs + 508 * day);
    expect(soon.untilMs ?? 0).toBeLessThan(startMs + 508 * day);
    expect(waitAdvice({ ...damp, tolerance: { ...damp.tolerance, unisonCents: 0.2 } })).toMatchObject({
      wait: false,
    });
  });
});
