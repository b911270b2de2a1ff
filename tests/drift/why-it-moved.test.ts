/** Why a register moved: its parts add up, and what comes back is said. */
import { describe, expect, test } from 'vitest';
import { learnedPage } from '../../server/drift/insight.ts';
import { fitSpread, lagGridDays, whatComesBack, whyItMoved } from '../../server/science/drift/index.ts';
import { day, drift, instrument } from './plain-piano.ts';

describe('why it moved', () => {
  const change = { moistureChangePct: 2, years: 0.5, temperatureChangeC: -6 };

  test('the parts and what is left over add up to what was found', () => {
    const why = whyItMoved(drift, instrument, 'middle', change, 9);
    const {
      moistureCents = 0,
      temperatureCents = 0,
      ageingCents = 0,
      settlingCents = 0,
      unexplainedCents = 0,
    } = why ?? {};
    expect(moistureCents + temperatureCents + ageingCents + settlingCents + unexplainedCents).toBeCloseTo(
      9,
      9,
    );
    expect(moistureCents).toBeGreaterThan(4);
    expect(temperatureCents).toBeGreaterThan(1);
    expect(ageingCents).toBeLessThan(0);
    expect(why?.words).toMatch(
      /^The middle moved \+9\.0 cents: \+\d\.\d as the board took up moisture; \+\d\.\d as it is colder/,
    );
  });

  test('more than is usual is said', () => {
    expect(whyItMoved(drift, instrument, 'middle', change, 40)?.words).toContain('more than is usual');
    expect(whyItMoved(drift, instrument, 'middle', change, 9)?.words).not.toContain('more than is usual');
  });

  test('each register tells of its own last interval: an A4 heard in passing ends that of the middle alone', () => {
    const over = (fromDay: number, toDay: number, changeCents: { tenor?: number; middle: number }) => ({
      ...{ instrument: instrument.id, kind: instrument.kind, finish: instrument.finish, changeCents },
      ...{ fromMs: fromDay * day, toMs: toDay * day, years: (toDay - fromDay) / 365.25 },
      ...{ moistureChangePct: lagGridDays.map(() => 1), temperatureChangeC: 0 },
    });
    const observations = [over(0, 100, { tenor: 5, middle: 3 }), over(100, 150, { middle: 2 })];
    const known = { fittedMs: 0, posterior: drift, spread: fitSpread([]), instrument };
    const page = learnedPage(known, { observations, excluded: [], spreads: [], spotHumidityPct: [] }, []);
    expect(page.whyMoved.map((one) => [one.register, one.untilMs / day, one.totalCents])).toEqual([
      ['tenor', 100, 5],
      ['middle', 150, 2],
    ]);
  });

  test('cold alone comes back', () => {
    expect(
      whatComesBack({ moistureCents: 0, temperatureCents: 2, ageingCents: 0, settlingCents: 0 }),
    ).toMatch(/^sharp by 2 because it is colder/);
    expect(
      whatComesBack({ moistureCents: 9, temperatureCents: 0.2, ageingCents: 0, settlingCents: 0 }),
    ).toBeNull();
  });
});
