/** How numbers, times and moistures are said and read: the page's plain functions, checked against the outside. */
import { DateTime, IANAZone } from 'luxon';
import { describe, expect, test } from 'vitest';
import { ticks } from '../../web/chart/ticks.ts';
import { Entries } from '../../web/form/entries.ts';
import { stripShape } from '../../web/marks/strip-shape.ts';
import { Refusal } from '../../web/service/fault.ts';
import { inUnit, standardNoteHz } from '../../web/visit-sheet/pitch-arithmetic.ts';
import { moistureClass, moistureWord } from '../../web/words/moisture.ts';
import { cents, count, minutes, percent, plain, signed, typed } from '../../web/words/numbers.ts';
import { lasting, nearDay, span } from '../../web/words/times.ts';
import { fromInput, instantMs, toInput, wallTime } from '../../web/words/zoned.ts';

const nbsp = '\u00a0';
const hourMs = 3_600_000;

describe('a venue’s clock, against Luxon', () => {
  const zones = [
    'Europe/Vienna',
    'America/New_York',
    'Australia/Lord_Howe',
    'Asia/Kathmandu',
    'Pacific/Apia',
    'UTC',
  ];

  test('every zone tried is one the reference knows', () => {
    for (const zone of zones) expect(IANAZone.isValidZone(zone)).toBe(true);
  });

  test.each(zones)('%s: each half hour of a year comes back as the same wall time', (zone) => {
    const begin = Date.UTC(2026, 0, 1);
    for (let i = 0; i < 365 * 48; i += 7) {
      const timeMs = begin + i * 1_800_000;
      const there = DateTime.fromMillis(timeMs, { zone });
      const wall = wallTime(timeMs, zone);
      expect([wall.year, wall.month, wall.day, wall.hour, wall.minute]).toEqual([
        there.year,
        there.month,
        there.day,
        there.hour,
        there.minute,
      ]);
      expect(toInput(timeMs, zone)).toBe(there.toFormat("yyyy-MM-dd'T'HH:mm"));
      const back = instantMs(wall, zone);
      // In the hour that comes twice, the first of the two is meant.
      expect([timeMs, timeMs - hourMs, timeMs - hourMs / 2]).toContain(back);
      expect(wallTime(back, zone)).toEqual(wall);
    }
  });

  test('the night summer time begins and the night it ends in Vienna', () => {
    // 29 March 2026, 02:30 does not exist: the clock goes from 02:00 to 03:00. An hour later is 03:30, 01:30 UTC.
    expect(fromInput('2026-03-29T02:30', 'Europe/Vienna')).toBe(Date.UTC(2026, 2, 29, 1, 30));
    // 25 October 2026, 02:30 comes twice: first at 00:30 UTC.
    expect(fromInput('2026-10-25T02:30', 'Europe/Vienna')).toBe(Date.UTC(2026, 9, 25, 0, 30));
    expect(fromInput('', 'Europe/Vienna')).toBeNull();
    expect(fromInput('yesterday', 'Europe/Vienna')).toBeNull();
  });

  test.each([
    ['Europe/Vienna', 10],
    ['Europe/Vienna', 90],
    ['Europe/Vienna', 365],
    ['Australia/Lord_Howe', 3],
    ['America/New_York', 1500],
  ])('%s, %i days: marks ascend and stand on the venue’s midnights, or its whole hours', (zone, days) => {
    for (const toMs of [Date.UTC(2026, 2, 30, 5), Date.UTC(2026, 9, 26, 5), Date.UTC(2026, 11, 31, 23)]) {
      const fromMs = toMs - days * 24 * hourMs;
      const marks = ticks(fromMs, toMs, (toMs - fromMs) / 14, zone);
      expect(marks.length).toBeGreaterThan(2);
      expect(marks.length).toBeLessThanOrEqual(15);
      marks.forEach(({ timeMs }, i) => {
        expect(timeMs).toBeGreaterThan(marks[i - 1]?.timeMs ?? fromMs - 1);
        expect(timeMs).toBeLessThanOrEqual(toMs);
        const there = DateTime.fromMillis(timeMs, { zone });
        expect(there.minute).toBe(0);
        if (days > 20) expect(there.hour).toBe(0);
      });
    }
  });

  test('near days are named as a reader would', () => {
    const zone = 'Europe/Vienna';
    const now = DateTime.fromISO('2026-11-25T09:00', { zone }).toMillis();
    const at = (iso: string) => nearDay(DateTime.fromISO(iso, { zone }).toMillis(), zone, now);
    expect(at('2026-11-25T00:05')).toBe('00:05');
    expect(at('2026-11-24T23:50')).toBe('yesterday, 23:50');
    expect(at('2026-11-22T12:00')).toBe('Sunday');
    expect(at('2026-11-12T12:00')).toBe(`12${nbsp}November`);
    expect(at('2025-06-25T12:00')).toBe(`25${nbsp}June${nbsp}2025`);
    const inDays = (days: number) => now + days * 24 * hourMs;
    expect(span(inDays(13), inDays(20), zone, now)).toBe(`8${nbsp}Dec to 15${nbsp}Dec`);
    expect(span(inDays(-1), inDays(20), zone, now)).toBe(`by 15${nbsp}Dec`);
    expect(span(inDays(13), null, zone, now)).toBe(`from 8${nbsp}Dec`);
  });
});

describe('numbers', () => {
  test('true minus, plus where it is news, no part from the unit', () => {
    expect(plain(-5.25, 1)).toBe('\u22125.3');
    expect(plain(-0.2)).toBe('0');
    expect(signed(9)).toBe('+9');
    expect(signed(0.04, 1)).toBe('0.0');
    expect(cents(-1)).toBe(`\u22121${nbsp}cent`);
    expect(cents(-4.96, 1)).toBe(`\u22125.0${nbsp}cents`);
    expect(percent(6.28, 1)).toBe(`6.3${nbsp}%`);
    expect(minutes(100)).toBe(`1${nbsp}h 40${nbsp}min`);
    expect(count(3, 'instrument')).toBe('three instruments');
    expect(count(28, 'instrument')).toBe('28 instruments');
    expect(count(1, 'battery', 'batteries')).toBe('one battery');
  });

  test.each([
    ['40 s', 40_000],
    ['3 min', 185_000],
    ['5 h', 5 * hourMs],
    ['2 days', 50 * hourMs],
    ['6 months', 180 * 24 * hourMs],
    ['0 s', -500],
  ])('a while of %s', (words, ms) => {
    expect(lasting(ms).replaceAll(nbsp, ' ')).toBe(words);
  });

  test.each([
    ['438,7', 438.7],
    ['\u22125', -5],
    ['- 5', -5],
    [' +3.5 ', 3.5],
    ['.5', 0.5],
    ['7.', 7],
  ])('typed: %s', (text, value) => {
    expect(typed(text)).toBe(value);
  });
  test.each(['x', '1.2.3', '1e3', '--2', '5 %', 'Infinity', '0x10', '1,000.5'])(
    'not a number: %s',
    (text) => {
      expect(typed(text)).toBeNaN();
    },
  );
  test('empty is nothing, not zero', () => {
    expect(typed('  ')).toBeNull();
  });

  test('every field that cannot be read is named at once', () => {
    const entries = new Entries();
    expect(entries.optional('year', '')).toBeNull();
    entries.optional('sizeCm', 'long');
    entries.needed('board.thicknessMm', '');
    let met: unknown;
    try {
      entries.check();
    } catch (error) {
      met = error;
    }
    expect(met).toBeInstanceOf(Refusal);
    expect((met as Refusal).faults.map(({ field }) => field)).toEqual(['sizeCm', 'board.thicknessMm']);
  });
});

describe('pitch', () => {
  // ISO 16: A4 = 440 Hz. The others: table of equal temperament, e.g. NIST/handbook values to 0.01 Hz, from memory.
  test.each([
    ['bass', 55],
    ['tenor', 130.81],
    ['middle', 440],
    ['treble', 880],
    ['top', 1760],
  ] as const)('the %s is read at %d Hz', (register, hz) => {
    expect(standardNoteHz(register, 440)).toBeCloseTo(hz, 2);
  });

  test('A4 at 439 Hz is 3.94 cents flat, and back', () => {
    // 1200 log2(439/440) = -3.9391; also in the project's published checks.
    expect(inUnit({ unit: 'Hz', value: 439 }, 'cents', 440)).toBeCloseTo(-3.94, 2);
    expect(inUnit({ unit: 'cents', value: -3.9391 }, 'Hz', 440)).toBeCloseTo(439, 3);
  });
});

describe('the dry-to-wet scale', () => {
  // Wood Handbook (FPL-GTR-190) table 4-2 at 70 °F: 5.4 % at 25 %RH, 7.7 at 40, 9.2 at 50, 11.0 at 60, 16.0 at 80.
  test.each([
    [5.0, 'very dry'],
    [5.4, 'dry'],
    [7.7, 'middling'],
    [9.2, 'rather damp'],
    [11.0, 'very damp'],
    [16.0, 'very damp'],
  ])('%d %% is %s', (moisturePct, word) => {
    expect(moistureWord(moisturePct)).toBe(word);
  });
  test('never falls as moisture rises', () => {
    let last = 1;
    for (let pct = 0; pct < 30; pct += 0.05) {
      const now = moistureClass(pct);
      expect(now).toBeGreaterThanOrEqual(last);
      last = now;
    }
    expect(last).toBe(9);
  });

  test('a year strip covers every known day once and leaves the unknown open', () => {
    const days = [7.9, 8.1, null, null, 5.6, 5.7, 10.9];
    const { paths } = stripShape(days);
    expect(paths.map(({ moisture }) => moisture)).toEqual([2, 5, 9]);
    const spans = paths.flatMap(({ d }) =>
      [...d.matchAll(/M(\d+) 0H([\d.]+)/g)].map(([, from, to]) => [Number(from), Number(to)] as const),
    );
    days.forEach((value, day) => {
      const covering = spans.filter(([from, to]) => from <= day && day + 0.5 < to);
      expect(covering).toHaveLength(value === null ? 0 : 1);
    });
  });
});
