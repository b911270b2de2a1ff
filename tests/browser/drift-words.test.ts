/** How differences, scores, bands and the scatter of drift are said and drawn: plain functions, no browser needed. */
import { describe, expect, test } from 'vitest';
import { moved } from '../../web/drift/band-ends.ts';
import { byWords, days, rangeWords, tuningCount } from '../../web/drift/difference-words.ts';
import { scatterShape, stepFor } from '../../web/drift/scatter-shape.ts';
import { inBand, scoreWords } from '../../web/drift/score-words.ts';
import { plain } from '../support/plain.ts';

describe('differences and scores in words', () => {
  test('a range is said from its near end to its far one, and names its way', () => {
    expect(rangeWords({ low: -100.2, high: -35.4 }, 0)).toBe('between 35 and 100 fewer');
    expect(rangeWords({ low: 3, high: 12.4 }, 0)).toBe('between 3 and 12 more');
    expect(rangeWords({ low: -20, high: 5 }, 0)).toBe('between 20 fewer and 5 more');
    expect(rangeWords({ low: -71.3, high: 0 }, 0)).toBe('between none and 71 fewer');
    expect(rangeWords({ low: -0.3, high: 0.2 }, 0)).toBe('none either way');
    expect(byWords(-64.6, days)).toBe('about 65 fewer days');
    expect(byWords(1.2, days)).toBe('about 1 more day');
    expect(byWords(0.3, days)).toBe('no more and no fewer days');
    expect(byWords(-0.36, tuningCount)).toBe('about 0.4 fewer tunings');
  });

  test('a bad score is told as plainly as a good one', () => {
    const rivals = [
      { name: 'no change since the tuning', missCents: 4 },
      { name: 'the calendar alone', missCents: 2 },
    ];
    const score = { intervals: 20, coverage: 0.8, missCents: 1.5, rivals };
    expect(plain(scoreWords('this venue', score))).toBe(
      'Over 20 intervals of this venue what was said missed by 1.5 cents on average, where the best plain rule ' +
        '(the calendar alone) misses by 2.0 cents; the band held 80 % and should hold 80.',
    );
    expect(scoreWords('this venue', { ...score, missCents: 2.6 })).toContain(
      'worse than a plain rule: the calendar alone misses by only 2.0',
    );
    expect(scoreWords('this venue', { ...score, coverage: 0.55 })).toContain(
      'claims to know more than it does',
    );
    expect(scoreWords('this piano', { ...score, intervals: 2 })).toContain('too few visits to judge');
    expect(scoreWords('this piano', { intervals: 0, coverage: null, missCents: null, rivals: [] })).toContain(
      'nothing could be set against',
    );
    expect(inBand(-2.5, -5, 1)).toBe('yes');
    expect(inBand(-8, -6.9, -2.2)).toBe('no, 1.1 below');
    expect(inBand(3, -1, 1.5)).toBe('no, 1.5 above');
  });

  test('a band’s ends keep apart, on the scale, in whole percents', () => {
    expect(moved({ lowPct: 40, highPct: 50 }, 'lowPct', 43.4)).toEqual({ lowPct: 43, highPct: 50 });
    expect(moved({ lowPct: 40, highPct: 50 }, 'lowPct', 70)).toEqual({ lowPct: 48, highPct: 50 });
    expect(moved({ lowPct: 40, highPct: 50 }, 'highPct', 12)).toEqual({ lowPct: 40, highPct: 42 });
    expect(moved({ lowPct: 40, highPct: 50 }, 'highPct', 99)).toEqual({ lowPct: 40, highPct: 80 });
  });

  test('the scatter sets no change in the middle and its line through it', () => {
    const point = { fromMs: 0, toMs: 1, register: 'tenor', moistureChangePct: -2, changeCents: -10 } as const;
    const slope = {
      register: 'tenor',
      centsPerPct: 5,
      sdCents: 0.5,
      fleetCentsPerPct: 4,
      intervals: 1,
    } as const;
    const frame = { widthPx: 440, heightPx: 324, leftPx: 40, bottomPx: 24 };
    const shape = scatterShape([point], slope, frame);
    expect([shape.x(0), shape.y(0)]).toEqual([240, 150]);
    // The point lies on the line, and both within the frame.
    const [begin = '', end = ''] = shape.line.slice(1).split('L');
    const [x0 = 0, y0 = 0, x1 = 0, y1 = 0] = `${begin} ${end}`.split(' ').map(Number);
    const along = y0 + ((shape.x(-2) - x0) / (x1 - x0)) * (y1 - y0);
    expect(along).toBeCloseTo(shape.y(-10), 0);
    expect(shape.marksX).toContain(0);
    expect(stepFor(4.5)).toBe(2);
    expect(stepFor(21)).toBe(10);
  });
});
