/** The words and the calendar of rooms, without a browser. */
import { describe, expect, test } from 'vitest';
import { type RoomState, roomStates } from '../../server/contract/index.ts';
import { headline } from '../../web/rooms/headline.ts';
import { figuresOf, monthsOf, yearWords } from '../../web/rooms/year-days.ts';
import { againstBand, humidityClass } from '../../web/words/humidity.ts';

const dayMs = 86_400_000;
const rooms = (...states: RoomState[]) =>
  states.map((state) => ({ today: { state } as Parameters<typeof headline>[0][number]['today'] }));
const plain = (text: string) => text.replaceAll('\u00a0', ' ');

describe('the headline of the rooms', () => {
  test('counts in words and names its rooms once', () => {
    expect(headline(rooms('fit', 'fit', 'dry', 'sensor'))).toBe(
      'Two rooms need nothing, one is dry, in one the sensor asks for a hand',
    );
    expect(headline(rooms('dry', 'dry', 'damp'))).toBe('Two rooms are dry, one is damp');
    expect(headline(rooms('control', 'unknown'))).toBe(
      'In one room a humidity control stands still, one is not measured',
    );
  });
  test('says it when all is well, and when there is nothing to say', () => {
    expect(headline(rooms('fit'))).toBe('The room needs nothing');
    expect(headline(rooms(...Array.from({ length: 14 }, () => 'fit' as const)))).toBe(
      'All 14 rooms need nothing',
    );
    expect(headline([])).toBe('No room is entered yet');
  });
  test('leaves no state unsaid', () => {
    for (const state of roomStates) expect(headline(rooms(state, 'fit')).length).toBeGreaterThan(20);
    const two = headline(rooms('fit', 'piano'));
    expect(two).toBe('One room needs nothing, one needs a look');
  });
});

describe('a year of days', () => {
  const endMs = Date.UTC(2026, 2, 2, 9);
  const strip = {
    endMs,
    humidityPct: Array.from({ length: 365 }, (_, i) => (i === 3 ? null : 30 + (i % 31))),
  };
  test('ends today, holds every day once, and knows its months', () => {
    const months = monthsOf(strip);
    const days = months.flatMap((one) => one.days);
    expect(days).toHaveLength(365);
    expect(new Date(days.at(-1)?.timeMs ?? 0).toISOString().slice(0, 10)).toBe('2026-03-02');
    expect(new Date(days[0]?.timeMs ?? 0).toISOString().slice(0, 10)).toBe('2025-03-03');
    expect(months.find((one) => one.name === 'Feb 2026')?.days).toHaveLength(28);
    expect(days.every((one, i) => i === 0 || one.timeMs - (days[i - 1]?.timeMs ?? 0) === dayMs)).toBe(true);
  });
  test('is told in figures, without the days nobody measured', () => {
    const [first] = monthsOf(strip);
    if (!first) throw new Error('no month');
    const told = figuresOf(first, { wishedLowPct: 38, wishedHighPct: 52 });
    // 29 days of March 2025 from the 3rd on, one of them unknown: 30, 31, 32, 34 … 58.
    expect(told).toMatchObject({ leastPct: 30, mostPct: 58, days: 28, daysWithin: 15 });
    expect(plain(yearWords(strip, 'UTC'))).toMatch(
      /^Humidity over the past year: driest day 3 Mar.* at 30 %, dampest .* at 60 %\.$/,
    );
  });
  test('classes and words agree at the edges', () => {
    expect([24.9, 25, 44.9, 45, 60].map(humidityClass)).toEqual([1, 2, 5, 6, 9]);
    const band = { wishedLowPct: 38, wishedHighPct: 52 };
    expect(againstBand(37.6, band)).toBe('within what is wished');
    expect(plain(againstBand(31, band))).toBe('7 points drier than wished');
    expect(plain(againstBand(53, band))).toBe('1 point damper than wished');
  });
});
