/** What the watch takes from inspections: a finding lasts until somebody looks again, or does the work it asked for. */
import { describe, expect, test } from 'vitest';
import type { Estimate, Finding, Visit, VisitSheet } from '../../server/contract/index.ts';
import { boardFindingsOf, openFindings } from '../../server/watch/findings.ts';
import { finding, inspection } from './sheet.ts';

const instrumentId = '00000000-0000-4000-8000-000000000001';
const dayMs = 86_400_000;

/** A visit on a day of its own; of the items only those that are named were looked at. */
function seen(day: number, findings: readonly Finding[], sheet: Partial<VisitSheet> = {}): Visit {
  const atMs = day * dayMs;
  return { ...inspection(instrumentId, atMs, findings, { sound: [], ...sheet }), receivedMs: atMs };
}
const newestFirst = (...visits: readonly Visit[]) => visits.toSorted((a, b) => b.atMs - a.atMs);

const pedal = finding({
  itemId: 'pedals.damper',
  assembly: 'pedals',
  part: 'Damper pedal',
  conditionClass: 3,
  urgencyClass: 3,
  job: 'pedal-work',
  workProposed: 'Pedals and trapwork',
});

describe('still to be done', () => {
  test('what was urgent is open, since the day it was first found so', () => {
    const open = openFindings(newestFirst(seen(10, [pedal]), seen(20, [{ ...pedal, words: 'worse' }])));
    expect(open.map(({ part, words, foundMs }) => [part, words, foundMs])).toEqual([
      ['Damper pedal', 'worse', 10 * dayMs],
    ]);
  });

  test('a later look that finds it sound ends it; found again, it begins anew', () => {
    const sound = seen(20, [], { sound: ['pedals.damper'] });
    expect(openFindings(newestFirst(seen(10, [pedal]), sound))).toEqual([]);
    const again = openFindings(newestFirst(seen(10, [pedal]), sound, seen(30, [pedal])));
    expect(again.map(({ foundMs }) => foundMs)).toEqual([30 * dayMs]);
  });

  test('a look at something else says nothing of it', () => {
    const other = seen(20, [], { sound: ['keys.dip'] });
    expect(openFindings(newestFirst(seen(10, [pedal]), other))).toHaveLength(1);
  });

  test('the work it asked for, done in its own visit or later, ends it; work before it does not', () => {
    const done = { workDone: [{ job: 'pedal-work' as const, words: 'Pedals', minutes: 30 }] };
    expect(openFindings([seen(10, [pedal], done)])).toEqual([]);
    expect(openFindings(newestFirst(seen(10, [pedal]), seen(20, [], done)))).toEqual([]);
    expect(openFindings(newestFirst(seen(5, [], done), seen(10, [pedal])))).toHaveLength(1);
  });

  test('work that is proposed on although some of it was done stays open', () => {
    const estimate: Estimate = {
      ratePerHourCents: null,
      currency: 'EUR',
      lines: [
        {
          job: 'pedal-work',
          name: 'Pedals and trapwork',
          option: 'must',
          count: 1,
          minutes: { least: 15, likely: 45, most: 120 },
          partsCents: 0,
          itemIds: ['pedals.damper'],
        },
      ],
    };
    const workDone = [{ job: 'pedal-work' as const, words: 'Pedals', minutes: 30 }];
    expect(openFindings([seen(10, [pedal], { workDone, estimate })])).toHaveLength(1);
  });

  test('of the first form, the same part seen again without symptoms ends it', () => {
    const { itemId: _item, job: _job, ...slow } = { ...pedal, part: 'slow', assembly: 'keys' as const };
    const first = (day: number, one: Finding): Visit => {
      const { sheet: _sheet, ...visit } = seen(day, [one]);
      return visit;
    };
    expect(openFindings([first(10, slow)])).toHaveLength(1);
    const ended = newestFirst(first(10, slow), first(20, { ...slow, conditionClass: 0, urgencyClass: 0 }));
    expect(openFindings(ended)).toEqual([]);
  });
});

describe('what weakens the board', () => {
  const crack = finding({ itemId: 'board.cracks', part: 'open crack', conditionClass: 2 });

  test('lasts until the same item is looked at again', () => {
    const other = seen(20, [], { sound: ['ribs.separated'] });
    expect(boardFindingsOf(newestFirst(seen(10, [crack]), other))).toEqual(['open crack']);
    const sound = seen(30, [], { sound: ['board.cracks'] });
    expect(boardFindingsOf(newestFirst(seen(10, [crack]), other, sound))).toEqual([]);
  });

  test('a crack that was closed, and is only noted, no longer counts', () => {
    // As the sheet writes it: below the class from which it weakens the board it goes by its own name.
    const closed = finding({ itemId: 'board.cracks', part: 'Cracks', conditionClass: 1 });
    expect(boardFindingsOf(newestFirst(seen(10, [crack]), seen(20, [closed])))).toEqual([]);
  });

  test('what a visit of the first form found is ended by a sheet', () => {
    const { itemId: _item, ...rib } = finding({ part: 'separated rib' });
    const { sheet: _sheet, ...first } = seen(10, [rib]);
    expect(boardFindingsOf([first])).toEqual(['separated rib']);
    expect(boardFindingsOf(newestFirst(first, seen(20, [], { sound: ['ribs.separated'] })))).toEqual([]);
  });
});
