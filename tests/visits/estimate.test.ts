/** The plain arithmetic of a sheet: times with ranges, money, grades, and what is pointed out before it is closed. */
import { describe, expect, test } from 'vitest';
import {
  type EstimateLine,
  groupsFor,
  itemIds,
  itemOf,
  jobIds,
  jobs,
  lookAgain,
  normalWords,
  optionFor,
  ownTimes,
  proposedUrgency,
  sumOf,
  timesFor,
  type VisitBrief,
} from '../../server/contract/index.ts';
import { changeAnswer } from '../../web/visit-sheet/answers.ts';
import { freshDraft } from '../../web/visit-sheet/draft.ts';
import { estimateOf } from '../../web/visit-sheet/estimate.ts';
import { faultsOf } from '../../web/visit-sheet/faults.ts';

const line = (changes: Partial<EstimateLine>): EstimateLine => ({
  job: 'tuning',
  name: 'Tuning',
  option: 'should',
  count: 1,
  minutes: { least: 60, likely: 90, most: 120 },
  partsCents: 0,
  itemIds: [],
  ...changes,
});

test('one line is its own range; two independent ones spread by the root of their squares', () => {
  expect(sumOf([line({})], null).minutes).toEqual({ least: 60, likely: 90, most: 120 });
  // 3-4-5: distances 30 and 40 below give 50, as 30 and 40 above do.
  const two = [line({}), line({ minutes: { least: 10, likely: 50, most: 90 } })];
  expect(sumOf(two, null).minutes).toEqual({ least: 90, likely: 140, most: 190 });
});

test('many of one kind go as slowly each time', () => {
  const minutes = { least: 5, likely: 10, most: 15 };
  expect(sumOf([line({ count: 8, minutes })], null).minutes).toEqual({ least: 40, likely: 80, most: 120 });
});

test('money is work by the hour and parts, in whole hundredths', () => {
  const { cents } = sumOf([line({ partsCents: 1250 }), line({ count: 2, partsCents: 300 })], 7800);
  expect(cents?.likely).toBe(Math.round((270 / 60) * 7800) + 1250 + 600);
  expect(sumOf([line({})], null).cents).toBeNull();
  expect(sumOf([], 7800)).toEqual({
    minutes: { least: 0, likely: 0, most: 0 },
    cents: { least: 0, likely: 0, most: 0 },
  });
});

test("own times replace the trade's from three on, and single outliers drop out among many", () => {
  const usual = { least: 1, likely: 2, most: 3 };
  const two = ownTimes([50, 70]);
  const three = ownTimes([50, 60, 70]);
  if (!two || !three) throw new Error('times were given');
  expect(timesFor('tuning', usual, { tuning: two })).toEqual(usual);
  expect(timesFor('tuning', usual, { tuning: three })).toEqual({ least: 50, likely: 60, most: 70 });
  expect(ownTimes([60, 61, 62, 63, 64, 65, 66, 67, 68, 900])?.minutes.most).toBe(68);
  expect(ownTimes([])).toBeNull();
});

test('every item names a job, a unit where it is measured, and a normal range on both kinds', () => {
  expect(new Set(itemIds).size).toBe(itemIds.length);
  for (const kind of ['grand', 'upright'] as const) {
    for (const item of groupsFor(kind).flatMap((group) => group.items)) {
      expect(jobIds, item.id).toContain(item.job);
      expect(item.quick.length, item.id).toBeGreaterThan(0);
      if (item.measure) {
        const { plausible } = item.measure;
        const normal = 'low' in item.measure.normal ? item.measure.normal : item.measure.normal[kind];
        expect(plausible.low, item.id).toBeLessThanOrEqual(normal.low ?? plausible.low);
        expect(plausible.high, item.id).toBeGreaterThanOrEqual(normal.high ?? plausible.high);
        expect(normalWords(item, kind), item.id).toBeTruthy();
      }
      for (const cause of item.causes ?? []) expect(itemOf(cause), item.id).not.toBeNull();
    }
  }
  for (const { minutes } of Object.values(jobs)) {
    expect(minutes.least).toBeLessThanOrEqual(minutes.likely);
    expect(minutes.likely).toBeLessThanOrEqual(minutes.most);
  }
});

test('grand and upright differ where the trade says so', () => {
  const ids = (kind: 'grand' | 'upright') =>
    groupsFor(kind).flatMap((group) => group.items.map(({ id }) => id));
  expect(ids('grand')).toContain('pedals.sostenuto');
  expect(ids('upright')).not.toContain('pedals.sostenuto');
  expect(ids('upright')).toContain('regulation.lost-motion');
  const blow = itemOf('regulation.blow')?.item;
  if (!blow) throw new Error('no blow distance');
  expect(normalWords(blow, 'grand')).toBe('44 to 49 mm');
  expect(normalWords(blow, 'upright')).toBe('38 to 50 mm');
});

test('urgency and option follow the grade, a step sooner for what endangers', () => {
  expect(proposedUrgency({}, 2)).toBe(2);
  expect(proposedUrgency({ urgencyShift: 1 }, 2)).toBe(3);
  expect(proposedUrgency({ urgencyShift: -1 }, 1)).toBe(0);
  expect(proposedUrgency({ urgencyShift: 1 }, 0)).toBe(0);
  expect([0, 1, 2, 3].map(optionFor)).toEqual(['could', 'could', 'should', 'must']);
});

describe('what a sheet proposes', () => {
  const brief = { instrumentId: '', kind: 'grand', air: null } as unknown as VisitBrief;
  const found = changeAnswer(freshDraft(brief, '', 0, true), 'pedals.damper', { conditionClass: 2 });
  const terms = { heading: '', ratePerHourCents: 7800, currency: 'EUR', disclaimer: '' };
  const known = { pitchStandardHz: 440, timeZone: 'Europe/Vienna' };

  test('parts to the hundredth', () => {
    const priced = { ...found, lines: { 'pedal-work': { parts: '12,50' } } };
    expect(estimateOf(priced, terms, {})?.lines[0]?.partsCents).toBe(1250);
  });

  test('work that was done in the same visit is not proposed, unless it is asked for', () => {
    const done = { ...found, workDone: [{ job: 'pedal-work', minutes: '30' }] };
    expect(estimateOf(done, terms, {})).toBeNull();
    const left = { ...done, lines: { 'pedal-work': { dropped: false } } };
    expect(estimateOf(left, terms, {})?.lines.map(({ job }) => job)).toEqual(['pedal-work']);
  });

  test('minutes and prices that cannot be meant are said at their field', () => {
    const wrong = {
      ...found,
      workDone: [{ job: 'tuning', minutes: '9O' }],
      lines: { 'pedal-work': { likely: 'long', parts: '-3' }, voicing: { likely: 'not shown' } },
    };
    expect(faultsOf(wrong, known, 0)).toEqual([
      { field: 'work.tuning', sentence: '“9O” is not a number.' },
      { field: 'likely.pedal-work', sentence: '“long” is not a number.' },
      { field: 'parts.pedal-work', sentence: '-3 for parts cannot be; it must be 0 to 1000000.' },
    ]);
  });
});

const sound = Object.fromEntries(
  groupsFor('grand').flatMap((group) => group.items.map(({ id }) => [id, 0 as const])),
);
const looked = {
  kind: 'grand' as const,
  classes: sound,
  notExamined: [],
  measured: {},
  pins: [],
  raisedCents: null,
  humidityPct: 45,
};

test('before it is closed: nothing to say of a sound sheet', () => {
  expect(lookAgain(looked)).toEqual([]);
});

test('before it is closed: the unanswered is named, a grade against its measure, causes that are missing', () => {
  const { 'keys.dip': _left, ...most } = sound;
  expect(lookAgain({ ...looked, classes: most }).map(({ itemId }) => itemId)).toEqual(['keys.dip']);
  expect(lookAgain({ ...looked, classes: most, notExamined: ['keys.dip'] })).toEqual([]);
  const measured = lookAgain({ ...looked, measured: { 'keys.dip': 12 } });
  expect(measured[0]?.sentence).toMatch(/12 mm is above normal, but it is graded without symptoms/);
  const pins = [{ section: 'bass', torqueNm: 3, feel: null, holds: null }];
  expect(lookAgain({ ...looked, pins }).map(({ sentence }) => sentence)).toEqual([
    expect.stringMatching(/graded 0, but the samples say 3/),
    'No pin was tried in the tenor, treble, top.',
  ]);
  const keys = lookAgain({ ...looked, classes: { ...sound, 'keys.free': 2 } });
  expect(keys[0]?.sentence).toMatch(/what slows them/);
  const plate = lookAgain({ ...looked, classes: { ...sound, 'plate.cracks': 1 }, raisedCents: 20 });
  expect(plate.some(({ sentence }) => /crack in the plate/.test(sentence))).toBe(true);
});
