/** The hours the coming year asks for, where they fall, and what would have to give. */
import { describe, expect, test } from 'vitest';
import { Contradiction } from '../../server/registry/viewer.ts';
import { keepDates } from '../../server/watch/kept-dates.ts';
import { waysTo } from '../../server/watch/ways.ts';
import { type PlannedInstrument, yearPlanOf } from '../../server/watch/year-plan.ts';
import { plain } from '../support/plain.ts';

const nowMs = Date.parse('2026-01-10T09:00:00Z');
const dayMs = 86_400_000;

const piano = (changes: Partial<PlannedInstrument> = {}): PlannedInstrument => ({
  id: 'p',
  name: 'Studio 1 · Grand 180 cm',
  venueId: 'v',
  venueName: 'Larkmoor School',
  use: 'practice',
  tunings: 2,
  inspections: 0,
  tuningMinutes: 90,
  lastTunedMs: nowMs - 10 * dayMs,
  lastInspectedMs: null,
  openTuningMs: null,
  bestDatesMs: null,
  ...changes,
});
const hours = (all: PlannedInstrument[], available = 0) =>
  yearPlanOf(all, [], available, nowMs).months.map((one) => one.hours);
const inMonths = (...at: [month: number, hours: number][]) =>
  Array.from({ length: 12 }, (_, i) => at.find(([month]) => month === i)?.[1] ?? 0);

describe('where the hours fall', () => {
  test('at the best dates where they are known', () => {
    const bestDatesMs = [Date.parse('2026-03-12'), Date.parse('2026-09-20')];
    expect(hours([piano({ bestDatesMs })])).toEqual(inMonths([2, 1.5], [8, 1.5]));
  });

  test('else at the interval, not in the weeks when heating comes on or goes off', () => {
    // Half a year after 31 December is 1 July; a year after is past the plan.
    expect(hours([piano()])).toEqual(inMonths([6, 1.5], [11, 1.5]));
    // Half a year after 20 October is 20 April, and a year after it 20 October: both move past their season.
    expect(hours([piano({ lastTunedMs: Date.parse('2025-10-20') })])).toEqual(inMonths([5, 1.5], [11, 1.5]));
  });

  test('a tuning that is asked for now is the first of the year’s, not one more', () => {
    const bestDatesMs = [Date.parse('2026-01-25'), Date.parse('2026-09-20')];
    expect(hours([piano({ bestDatesMs, openTuningMs: nowMs })])).toEqual(inMonths([0, 1.5], [8, 1.5]));
  });

  test('work that is asked for beside tunings counts in its month', () => {
    const work = {
      venueId: 'v',
      venueName: 'Larkmoor School',
      kind: 'others' as const,
      atMs: nowMs,
      minutes: 30,
    };
    const [january] = yearPlanOf([piano({ tunings: 0 })], [work], 0, nowMs).months;
    expect(january?.venues).toEqual([
      { venueId: 'v', venueName: 'Larkmoor School', tunings: 0, inspections: 0, others: 1, hours: 0.5 },
    ]);
  });
});

describe('the ways', () => {
  const bestDatesMs = [Date.parse('2026-03-12'), Date.parse('2026-09-20')];
  const far = piano({ id: 'f', venueId: 'f', venueName: 'Far Hall', bestDatesMs });
  const secondOf = (all: PlannedInstrument[], said: Record<string, number>) => {
    const wayTo = waysTo(new Map(Object.entries(said).map(([id, wayMinutes]) => [id, { wayMinutes }])));
    return plain(yearPlanOf(all, [], 0, nowMs, wayTo).sentences.at(-1));
  };

  test('are counted there and back for each month’s work at a venue, by what each venue says', () => {
    // Two months of one trip each: 2 × 2 × 90 minutes there, 2 × 2 × 30 to the other.
    expect(secondOf([far, piano({ bestDatesMs })], { f: 90, v: 30 })).toMatch(
      / come to some 8 hours more, .+ hold it\.$/,
    );
    expect(secondOf([far, piano({ bestDatesMs })], { f: 90 })).toMatch(
      /some 8 hours more, .+; 30 minutes one way are assumed for Larkmoor School\.$/,
    );
    expect(secondOf([far], {})).toMatch(
      /some 2 hours more, .+ are assumed, since none is entered at a venue\.$/,
    );
  });

  test('of a far venue are more, since a day there holds less', () => {
    const day = Array.from({ length: 4 }, (_, i) => ({ ...far, id: `f${i}` }));
    // Six hours a month: one day nearby, three of them at the end of a way of three hours.
    expect(secondOf(day, { f: 15 })).toContain('some 1 hour more');
    expect(secondOf(day, { f: 180 })).toContain('some 36 hours more');
  });
});

describe('inspections', () => {
  test('one that was never made goes along with the tuning whose month is emptiest', () => {
    const bestDatesMs = [Date.parse('2026-03-12'), Date.parse('2026-09-20')];
    const busy = piano({ id: 'q', tunings: 1, bestDatesMs: [Date.parse('2026-03-20')] });
    const { months } = yearPlanOf([piano({ bestDatesMs, inspections: 1 }), busy], [], 0, nowMs);
    expect(months.map(({ venues }) => venues[0]?.inspections ?? 0)).toEqual(inMonths([8, 1]));
  });

  test('one on record comes at its interval; overdue, at once', () => {
    const seen = piano({ tunings: 0, inspections: 1, lastInspectedMs: Date.parse('2024-06-01') });
    expect(hours([seen])).toEqual(inMonths([0, 1.25]));
  });
});

describe('what would have to give', () => {
  const inMarch = (n: number, use: PlannedInstrument['use']) =>
    Array.from({ length: n }, (_, i) =>
      piano({
        id: `${use} ${i}`,
        use,
        tunings: 1,
        bestDatesMs: [Date.parse('2026-03-12')],
        tuningMinutes: 60,
      }),
    );

  /** What is said of the hours at the instruments; the last sentence of a plan is about the ways. */
  const given = (all: PlannedInstrument[], available: number): string[] => {
    const { sentences } = yearPlanOf(all, [], available, nowMs);
    expect(sentences.at(-1)).toMatch(/^The ways/);
    return sentences.slice(0, -1);
  };

  test('nothing, where every month holds', () => {
    const sentences = given(inMarch(4, 'home'), 5);
    expect(sentences.at(-1)).toBe('No month asks for more than the 5\u00a0hours there are.');
  });

  test('what is too much moves on to months with room', () => {
    const sentences = given(inMarch(9, 'home'), 4);
    expect(sentences[1]).toContain('March asks for more than the 4\u00a0hours there are');
    expect(sentences[2]).toBe('5\u00a0hours of March find room only in April and May.');
    expect(sentences).toHaveLength(3);
  });

  test('of this month there is only what is left', () => {
    const { months } = yearPlanOf([piano()], [], 31, Date.parse('2026-01-30T00:00:00Z'));
    expect(months[0]?.available).toBeCloseTo(2, 6);
    expect(months[1]?.available).toBe(31);
  });

  test('what finds no room is left out of practice instruments first, and it is said how much', () => {
    const all = [...inMarch(40, 'concert'), ...inMarch(6, 'practice')];
    const sentences = given(all, 3);
    // March to December hold 30 of 46 hours.
    expect(sentences.at(-1)).toBe(
      '16\u00a0hours find no room in this year: 6 tunings of practice instruments and 10 tunings of concert instruments would have to be left out, more hands found, or the rooms kept steadier.',
    );
  });
});

describe('best dates are worked out a few at a time', () => {
  const page = (atMs: number) => ({
    ...{ dates: [{ atMs, why: '' }], daysWithin: 90, habitDaysWithin: 60, gainDays: 30, gainLowDays: 0 },
    ...{ gainHighDays: 0, days: 365, words: '' },
  });
  const wanted = ['a', 'b', 'c'].map((id) => ({ id, tunings: 2, lastTunedMs: null }));

  test('kept for the day, asked anew after a visit; what cannot be foretold is known as such', async () => {
    const asked: string[] = [];
    const dates = keepDates(async (id) => {
      asked.push(id);
      if (id === 'b') throw new Contradiction('id', 'id: nothing can be foretold of it');
      return page(nowMs + 1);
    });
    await dates.workOut(wanted, nowMs, 60_000);
    await dates.workOut(wanted, nowMs + 60_000, 60_000);
    expect(asked).toEqual(['a', 'b', 'c']);
    expect([...dates.known(wanted, nowMs)]).toEqual([
      ['a', [nowMs + 1]],
      ['b', null],
      ['c', [nowMs + 1]],
    ]);
    const visited = wanted.map((one) => (one.id === 'c' ? { ...one, lastTunedMs: nowMs } : one));
    expect(dates.known(visited, nowMs).size).toBe(2);
    await dates.workOut(visited, nowMs, 60_000);
    expect(asked).toEqual(['a', 'b', 'c', 'c']);
  });

  test('dates that keep it in tune no longer than habit does are not planned by', async () => {
    const dates = keepDates(async () => ({ ...page(nowMs), gainDays: 0.4 }));
    await dates.workOut(wanted, nowMs, 60_000);
    expect([...dates.known(wanted, nowMs).values()]).toEqual([null, null, null]);
  });

  test('no time: nothing is worked out, and nothing is claimed', async () => {
    const dates = keepDates(async () => page(nowMs));
    await dates.workOut(wanted, nowMs, 0);
    expect(dates.known(wanted, nowMs).size).toBe(0);
  });

  test('another failure is not taken for an answer', async () => {
    const dates = keepDates(async () => {
      throw new Error('the store is away');
    });
    await expect(dates.workOut(wanted, nowMs, 60_000)).rejects.toThrow('the store is away');
    expect(dates.known(wanted, nowMs).size).toBe(0);
  });
});
