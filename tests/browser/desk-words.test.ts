/** How the technician's pages say things: plain functions, no browser needed. */
import { describe, expect, test } from 'vitest';
import {
  type Call,
  type Round,
  type RoundsPage,
  rules,
  settingNames,
  settingTable,
  type WhatIfPage,
} from '../../server/contract/index.ts';
import { filledWords } from '../../web/people/filled.ts';
import { heading, lead } from '../../web/rounds/heading.ts';
import { type Asked, savingOf } from '../../web/rounds/saving.ts';
import { savingWords } from '../../web/rounds/year-words.ts';
import { grouped } from '../../web/watch-settings/groups.ts';
import { ruleWords } from '../../web/words/rules.ts';

const nowMs = Date.parse('2026-11-25T12:00:00Z');
const plain = (text: string) => text.replaceAll('\u00a0', ' ');

const call = (instrumentId: string | null, changes: Partial<Call> = {}): Call => ({
  ...{ id: `${instrumentId}`, kind: 'tuning', instrumentId, place: 'Hall', venueName: 'Larkmoor' },
  ...{ timeZone: 'Europe/Vienna', urgency: 1, why: '', earliestMs: nowMs, latestMs: null, minutes: 90 },
  ...{ cautions: [], noticeIds: ['n'], venueId: 'v', bring: [], choice: null },
  ...changes,
});
const round = (dateMs: number, calls: Call[]): Round => ({
  ...{ venueId: 'v', venueName: 'Larkmoor', timeZone: 'Europe/Vienna', dateMs, planned: false },
  ...{ wayMinutes: 30, wayAssumed: true },
  ...{ latestMs: null, personId: null, minutes: calls.length * 90, bring: [], calls },
});
const page = (rounds: Round[], waiting: Call[] = []): RoundsPage => ({
  ...{ instruments: 28, rounds, waiting, declined: [], done: [] },
});

describe('the heading of rounds', () => {
  test('counts in words, and names the day of the last one by the venue’s clock', () => {
    // 23:30 UTC on the 9th is the 10th in Vienna.
    const last = Date.parse('2026-12-09T23:30:00Z');
    expect(plain(heading([round(nowMs, [call('a')]), round(last, [call('b')])], nowMs))).toBe(
      'Two rounds by 10 December',
    );
    expect(heading([], nowMs)).toBe('No round is needed today');
  });

  test('an instrument with three calls is one instrument; sensors and what waits are said apart', () => {
    const calls = [call('a'), call('a', { kind: 'repair' }), call('b'), call(null, { kind: 'sensor' })];
    expect(plain(lead(page([round(nowMs, calls)], [call('c'), call('d')])))).toBe(
      'Two of 28 instruments ask for hands, 6 h without the ways. One sensor needs a look. Two more are better left for now.',
    );
    expect(plain(lead(page([], [call('c')])))).toBe(
      'The watch goes on; what begins shows up here. One instrument is better left for now.',
    );
  });
});

describe('what steadier air would save', () => {
  const set = (asItIs: number, changed: number, low: number, high: number) => {
    return { asItIs, changed, by: changed - asItIs, low, high };
  };
  const result = (tunings: ReturnType<typeof set>, litresAdded: number | null): WhatIfPage => {
    const beyond = set(200, 100, -120, -80);
    const run = {
      ...{ days: 365, daysBeyond: beyond, pitchDays: beyond, unisonDays: beyond, tunings },
      boardDays: [set(40, 0, -50, -30), set(10, 2, -9, -7)],
    };
    return { pastYear: run, coming: run, litresAdded, litresRemoved: litresAdded, caution: '' };
  };
  const piano = (id: string, tuningMinutes: number) => {
    return { id, name: id, venueId: 'v', tunings: 2, tuningMinutes, by: 'interval' as const };
  };
  const asked: Asked[] = [
    { instrument: piano('a', 60), result: result(set(6, 3, -4, -2), 100) },
    { instrument: piano('b', 120), result: result(set(4, 3, -3, 1), 50) },
    { instrument: piano('c', 90), result: 'a year of readings is needed there' },
  ];

  test('hours are each piano’s own minutes; one that could not be asked is in no sum', () => {
    expect(savingOf(asked)).toEqual({
      answered: 2,
      // 6 x 1 h + 4 x 2 h, and 3 x 1 h + 3 x 2 h.
      asItIsHours: 14,
      changedHours: 9,
      savedHours: 5,
      // One of them may need a tuning more: the least is no saving at all.
      leastHours: 0,
      mostHours: 10,
      plannedHours: 6,
      leftHours: (6 * 9) / 14,
      daysBeyond: [200, 100],
      boardDays: [50, 2],
      litresAdded: 150,
    });
    expect(savingOf([{ instrument: piano('c', 90), result: 'no' }])).toBeNull();
    const unknown = savingOf([
      ...asked,
      { instrument: piano('d', 60), result: result(set(1, 1, 0, 0), null) },
    ]);
    expect(unknown?.litresAdded).toBeNull();
  });

  test('more hours are not called a saving', () => {
    const worse = savingOf([{ instrument: piano('a', 60), result: result(set(2, 5, 2, 4), null) }]);
    const words = worse ? plain(savingWords(worse, 'The rooms held between 40 and 50 %')) : '';
    expect(words).toContain('would take 3 hours more of tuning a year');
    expect(words).toContain('would become 5 hours, 150 % more');
  });
});

describe('settings and rules', () => {
  test('every setting stands in one group, and none is left for the rest', () => {
    const settings = settingNames.map((name) => {
      const { says, unit, least, most, usual } = settingTable[name];
      return { name, says, unit, least, most, value: usual, from: 'usual', own: false };
    });
    const shown = grouped(settings);
    const names = shown.flatMap((group) => group.settings.map(({ name }) => name));
    expect(names.toSorted()).toEqual([...settingNames].toSorted());
    expect(shown.map(({ heading: title }) => title)).not.toContain('Other');
    // One the page does not know yet is shown all the same.
    const [first] = settings;
    const strange = first ? { ...first, name: 'moon phase' } : [];
    expect(grouped([...settings, strange].flat()).at(-1)?.heading).toBe('Other');
  });

  test('every rule has words', () => {
    expect(Object.keys(ruleWords).toSorted()).toEqual([...rules].toSorted());
  });
});

test('a care note is filled in; what is no placeholder stays to be seen', () => {
  const words = filledWords(
    { subject: 'Your {instrument}', words: '{client}\n\n\n\n{what} {nonsense}' },
    'tuning',
  );
  expect(words.subject).toBe('Your Grand 173 cm');
  expect(words.words).toBe('Ms Ondrelle\n\nyour piano has gone out of tune with the season. {nonsense}');
});
