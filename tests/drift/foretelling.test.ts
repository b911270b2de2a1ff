/** What is made of the learned drift and the climate: forecasts, decisions, dates, what-ifs, and why it moved. */
import { describe, expect, test } from 'vitest';
import {
  addSpread,
  bestDates,
  boardNow,
  type ClimateKnowledge,
  type DailyAir,
  type DriftObservation,
  eventUnsteadiness,
  type ForecastInput,
  fitDrift,
  fitSpread,
  forecast,
  forecastPaths,
  lagGridDays,
  moistureCourse,
  overallSpread,
  predictSpread,
  type RoomClimate,
  registers,
  roomClimate,
  type SpreadObservation,
  seededRandom,
  sinceTuning,
  spreadBeyond,
  tuningDecision,
  waitAdvice,
  whatComesBack,
  whatIf,
  whyItMoved,
} from '../../server/science/drift/index.ts';
import { toleranceFor } from '../../server/science/pitch.ts';

const day = 86_400_000;
const startMs = Date.UTC(2031, 0, 1);

/** A room with a season of its own: driest in mid February, dampest in mid August. */
function room(
  days: number,
  options: { level?: number; swing?: number; noise?: number; seed?: number } = {},
): DailyAir {
  const { level = 45, swing = 13, noise = 2.5, seed = 3 } = options;
  const random = seededRandom(seed);
  let fast = 0;
  return {
    startMs,
    temperatureC: Float64Array.from({ length: days }, () => 21 + 0.5 * random.normal()),
    humidityPct: Float64Array.from({ length: days }, (_, t) => {
      fast = 0.8 * fast + noise * 0.6 * random.normal();
      return level - swing * Math.cos((2 * Math.PI * (t - 45)) / 365.25) + fast;
    }),
  };
}

/** A fleet that moves as a plain one does: 3 cents per %MC in the middle, twice that in the tenor. */
function observations(): DriftObservation[] {
  const random = seededRandom(12);
  const slopes = { bass: 1.8, tenor: 6, middle: 3.1, treble: 2.4, top: 1.1 };
  return Array.from({ length: 150 }, (_, i) => {
    const m = 1.8 * random.normal();
    const years = 0.3 + 0.4 * random.uniform();
    const temperatureChangeC = 2 * random.normal();
    return {
      instrument: `i${i % 25}`,
      kind: 'grand',
      finish: 'lacquer',
      fromMs: 0,
      toMs: 0,
      moistureChangePct: lagGridDays.map(() => m),
      years,
      temperatureChangeC,
      changeCents: Object.fromEntries(
        registers.map((r) => [r, slopes[r] * m - 1.8 * years - 0.35 * temperatureChangeC + random.normal()]),
      ),
    };
  });
}

const drift = fitDrift(observations(), { prior: 'trade' });
const instrument = { id: 'i3', kind: 'grand', finish: 'lacquer' } as const;

/** As it stands after `days` of a room's climate, tuned `ago` days before. */
function input(
  days: number,
  ago: number,
  use: 'concert' | 'studio' | 'practice' = 'practice',
  air = room(days),
): ForecastInput {
  const course = moistureCourse({ ...air, stepMs: day }, lagGridDays);
  const since = sinceTuning(course, {
    tunedMs: startMs + (days - ago) * day,
    leftCents: Object.fromEntries(registers.map((register) => [register, 0])),
    temperatureC: 21,
    raiseCents: 0,
    strungMs: null,
  });
  if (since === null) throw new Error('the tuning lies before the climate');
  return {
    instrument,
    drift,
    spread: fitSpread([]),
    climate: roomClimate({ own: air }),
    board: boardNow(course),
    since,
    tolerance: toleranceFor(use),
    seed: 11,
  };
}

describe('forecast', () => {
  const told = forecast(input(500, 60));

  test('a value for each of 120 days, fans in order, chances between 0 and 1', () => {
    expect(told.timesMs).toHaveLength(120);
    expect(told.timesMs[0]).toBe(startMs + 501 * day);
    for (const fan of [
      told.humidityPct,
      told.moisturePct,
      told.spreadCents,
      ...told.registers.map((r) => r.offsetCents),
    ]) {
      fan.median.forEach((median, t) => {
        expect(fan.low[t]).toBeLessThanOrEqual(median);
        expect(fan.high[t]).toBeGreaterThanOrEqual(median);
      });
    }
    for (const chances of [...Object.values(told.beyond), ...told.registers.map(({ beyond }) => beyond)]) {
      for (const chance of chances) {
        expect(chance).toBeGreaterThanOrEqual(0);
        expect(chance).toBeLessThanOrEqual(1);
      }
    }
  });

  test('the same seed says the same, another one nearly', () => {
    expect(forecast(input(500, 60))).toEqual(told);
    const other = forecast({ ...input(500, 60), seed: 12 });
    const tenor = (one: typeof told) => one.registers[1]?.offsetCents.median[119] ?? Number.NaN;
    expect(Math.abs(tenor(other) - tenor(told))).toBeLessThan(5);
    expect(other).not.toEqual(told);
  });

  test('any part out is at least as likely as each part, and the tenor strays most', () => {
    told.beyond.any.forEach((any, t) => {
      for (const part of [told.beyond.level, told.beyond.step, told.beyond.spread])
        expect(any).toBeGreaterThanOrEqual(part[t] ?? 1);
    });
    const width = (name: string) => {
      const fan = told.registers.find(({ register }) => register === name)?.offsetCents;
      return (fan?.high[119] ?? 0) - (fan?.low[119] ?? 0);
    };
    for (const other of ['bass', 'middle', 'treble', 'top'])
      expect(width('tenor')).toBeGreaterThan(1.3 * width(other));
  });

  test('a register that was not measured is not foretold', () => {
    const one = input(500, 60);
    const partly = { ...one, since: { ...one.since, leftCents: { middle: 0 } } };
    expect(forecast(partly).registers.map(({ register }) => register)).toEqual(['middle']);
  });

  test('paths and days out of range are refused by name', () => {
    expect(() => forecast({ ...input(500, 60), days: 0 })).toThrow(/days/);
    expect(() => forecast({ ...input(500, 60), paths: 3 })).toThrow(/paths/);
  });
});

describe('where the seasons come from, in order', () => {
  const year = roomClimate({ own: room(400) });
  const short = room(40);
  const sources: [string, Omit<ClimateKnowledge, 'own'>][] = [
    ['rooms of the venue', { venueRooms: [year, year], outdoor: room(400), fleetRooms: [year] }],
    [
      'outdoor sensor',
      { outdoor: { ...room(400), temperatureC: new Float64Array(400).fill(8) }, fleetRooms: [year] },
    ],
    ['rooms of the fleet', { fleetRooms: [year] }],
    ['rooms in general', {}],
  ];
  const width = (climate: RoomClimate) => {
    const [low, , high] = [0.1, 0.5, 0.9].map((share) => quantile(climate, share));
    return (high ?? 0) - (low ?? 0);
  };
  const quantile = (climate: RoomClimate, share: number) => {
    const drawn = forecastPaths({ ...input(500, 60), climate }).climate;
    const last = Float64Array.from(
      { length: drawn.count },
      (_, k) => drawn.humidityPct[k * drawn.days + 119] ?? 0,
    ).sort();
    return last[Math.round(share * (last.length - 1))] ?? 0;
  };

  test('its own year needs no other', () => expect(year.source).toBe('own history'));

  test.each(sources)('%s', (source, knowledge) => {
    const climate = roomClimate({ own: short, ...knowledge });
    expect(climate.source).toBe(source);
    expect(climate.because).toContain('40 days of its own');
  });

  test('the poorer the source, the wider the fan', () => {
    const widths = [year, ...sources.map(([, knowledge]) => roomClimate({ own: short, ...knowledge }))].map(
      width,
    );
    const [own, venue, , fleet, general] = widths as [number, number, number, number, number];
    expect(venue).toBeGreaterThan(own);
    expect(fleet).toBeGreaterThan(venue);
    expect(general).toBeGreaterThan(fleet);
  });
});

/** Marks beyond tolerance as wanted: [level now, level in three weeks, unisons throughout]. */
function decisionOf(now: number, later: number, unisons: number) {
  const paths = forecastPaths({ ...input(500, 60), paths: 100, days: 30 });
  const { count, days } = paths.climate;
  const mark = (share: (t: number) => number) =>
    Uint8Array.from({ length: count * days }, (_, i) =>
      Math.floor(i / days) < share(i % days) * count ? 1 : 0,
    );
  return tuningDecision({
    ...paths,
    beyond: {
      level: mark((t) => (t < 10 ? now : later)),
      step: mark(() => 0),
      spread: mark(() => unisons),
    },
  });
}

describe('does it ask for a tuning?', () => {
  test.each([
    ['offset alone, coming back', 0.9, 0.2, 0.1, 'wait', ['level']],
    ['offset alone, staying', 0.9, 0.9, 0.1, 'tune', ['level']],
    ['unisons alone', 0.2, 0.2, 0.95, 'touch up unisons', ['unisons']],
    ['unisons, and a pitch likelier out than not', 0.6, 0.6, 0.95, 'tune', ['unisons']],
    ['unisons, and such a pitch that comes back', 0.6, 0.2, 0.95, 'touch up unisons', ['unisons']],
    ['both', 0.9, 0.9, 0.95, 'tune', ['level', 'unisons']],
    ['an offset that comes back never excuses unisons', 0.9, 0.2, 0.95, 'tune', ['level', 'unisons']],
    ['neither', 0.5, 0.5, 0.5, 'leave it', []],
  ] as const)('%s', (_, now, later, unisons, advice, asks) => {
    const decision = decisionOf(now, later, unisons);
    expect(decision.advice).toBe(advice);
    expect(decision.asks).toEqual(asks);
    expect(decision.because.length).toBeGreaterThan(20);
  });
});

describe('what is said agrees with the odds', () => {
  const say = (now: number, unisons: number) => decisionOf(now, now, unisons).because;

  test.each([
    [0.05, 0.05, /^Within tolerance as far as can be told: .* 1 in 10/],
    [0.3, 0.1, /^More likely within tolerance than out of it: pitch is out with a chance of 3 in 10/],
    [0.6, 0.1, /^It may be out of tolerance, but not surely enough to ask for a visit: pitch .* 6 in 10/],
    [0.3, 0.95, /^Only the unisons ask surely enough: pitch is out with a chance of 3 in 10, unisons .* 9/],
    [0.6, 0.95, /^The unisons ask, and the pitch is likelier out than not: pitch .* 6 in 10, in three weeks/],
    [0, 1, /a chance of under 1 in 10, unisons with a chance of over 9 in 10/],
  ])('pitch %f, unisons %f', (now, unisons, words) => {
    expect(say(now, unisons)).toMatch(words);
    // Nothing that is more likely out than not is called within.
    if (now >= 0.5) expect(say(now, unisons)).not.toMatch(/[Ww]ithin tolerance (as far|than)/);
  });

  test('a cold hall: sharp by what the cold does, which comes back', () => {
    const warm = input(500, 60);
    const made = (temperatureC: number) =>
      tuningDecision(
        forecastPaths({ ...warm, since: { ...warm.since, temperatureC }, paths: 100, days: 30 }),
      );
    const { count, days, temperatureC } = forecastPaths({ ...warm, paths: 100, days: 30 }).climate;
    const now = temperatureC.reduce((sum, value, i) => sum + (i % days === 0 ? value / count : 0), 0);
    const cold = made(now + 8).because;
    // Common practice: -0.36 c/K, so 8 °C colder is about 3 cents sharp.
    expect(cold).toMatch(/about [23] cents sharp are there because it is 8 °C colder than when it was tuned/);
    expect(cold).toMatch(/comes back with the temperature/);
    expect(made(now - 8).because).toMatch(/cents flat are there because it is 8 °C warmer/);
    expect(made(now).because).not.toMatch(/temperature/);
  });
});

describe('does a tuning hold until the concert?', () => {
  const given = { ...input(500, 60, 'concert'), paths: 200, days: 30 };
  const made = forecastPaths(given);
  const { count, days, startMs } = made.climate;
  /** The same piano in air that is the same every day, but for what the board gains per day and how warm it gets. */
  const along = (pctPerDay: number, warmerPerDay = 0) =>
    eventUnsteadiness(
      given,
      {
        climate: {
          ...made.climate,
          moisturePct: Float64Array.from({ length: count * days }, (_, i) => 8 + pctPerDay * (i % days)),
          temperatureC: Float64Array.from({ length: count * days }, (_, i) => 20 + warmerPerDay * (i % days)),
        },
      },
      startMs + 14.5 * 86_400_000,
      [0, 2, 7],
    ) ?? [];

  test('on a steady board it mostly does; where the tenor gains six cents in two days it does not', () => {
    const [sameDay, two] = along(0);
    expect(sameDay).toBe(0);
    expect(two).toBeLessThan(0.3);
    // Common practice: some 6 cents per %MC in the low tenor, 3 in the middle.
    expect(along(0.5)[1]).toBeGreaterThan(0.9);
  });

  test('the longer before, the less sure; warmth alone, 2 K a day at -0.35 c/K, moves it past 2 cents in a week', () => {
    const [, two, week] = along(0.1);
    expect(week).toBeGreaterThan(two ?? 1);
    const [, warmTwo, warmWeek] = along(0, 2);
    expect(warmWeek).toBeGreaterThan(0.9);
    expect(warmTwo).toBeLessThan(warmWeek ?? 0);
  });

  test('beyond the forecast nothing is said; a tuning in the past is taken as made on the first day', () => {
    expect(eventUnsteadiness(given, made, startMs + 31 * 86_400_000, [0])).toBeNull();
    const soon = eventUnsteadiness(given, made, startMs + 3.5 * 86_400_000, [3, 14]) ?? [];
    expect(soon[0]).toBe(soon[1]);
  });
});

describe('unison spread', () => {
  const random = seededRandom(2);
  const learned: SpreadObservation[] = Array.from({ length: 120 }, (_, i) => {
    const netPct = 1.5 * random.normal();
    const rangePct = Math.abs(netPct) + random.uniform();
    const years = 0.3 + 0.4 * random.uniform();
    const u = i % 12 === 0 ? 2.4 : 1.2;
    const cents =
      Math.sqrt(0.25 + u ** 2 * (netPct ** 2 + 0.16 * rangePct ** 2) + 0.64 * years) *
      Math.exp(0.2 * random.normal());
    const reading =
      i % 5 === 4
        ? { word: cents < 1.5 ? 'clean' : cents < 3 ? 'slow beat' : 'sour' }
        : { cents, sampled: 10 };
    return { instrument: `i${i % 12}`, netPct, rangePct, years, reading } as SpreadObservation;
  });
  const posterior = fitSpread(learned);
  const change = { netPct: 2, rangePct: 2.5, years: 0.5 };

  test('an instrument whose strings stray more is told apart', () => {
    const loose = predictSpread(posterior, 'i0', change).medianCents;
    const firm = predictSpread(posterior, 'i5', change).medianCents;
    expect(loose / firm).toBeGreaterThan(1.4);
  });

  test('it does not come back: a range without a net change leaves some', () => {
    const back = predictSpread(posterior, 'i5', { netPct: 0, rangePct: 3, years: 0.5 });
    const still = predictSpread(posterior, 'i5', { netPct: 0, rangePct: 0, years: 0.5 });
    expect(back.medianCents).toBeGreaterThan(1.2 * still.medianCents);
  });

  test('the band holds the median, and the chance beyond the median is one half', () => {
    const told = predictSpread(posterior, 'i5', change);
    expect(told.low80Cents).toBeLessThan(told.medianCents);
    expect(told.high80Cents).toBeGreaterThan(told.medianCents);
    expect(spreadBeyond(told, told.medianCents)).toBeCloseTo(0.5, 3);
  });

  test('how tunings are left is learned from readings right after them, not from long intervals alone', () => {
    // Truth: left at 0.5, no interval shorter than three months, and much that use does: alone they cannot tell the two apart.
    const draw = seededRandom(5);
    const found: SpreadObservation[] = Array.from({ length: 60 }, (_, i) => {
      const [netPct, years] = [0.6 * draw.normal(), 0.25 + 0.05 * draw.uniform()];
      const change = { netPct, rangePct: Math.abs(netPct) + 0.3, years };
      const cents = Math.sqrt(0.25 + 1.44 * (netPct ** 2 + 0.16 * change.rangePct ** 2) + 6 * years);
      return {
        instrument: `j${i % 10}`,
        ...change,
        reading: { cents: cents * Math.exp(0.2 * draw.normal()), sampled: 12 },
      };
    });
    const left: SpreadObservation[] = Array.from({ length: 60 }, (_, i) => ({
      ...{ instrument: `j${i % 10}`, netPct: 0, rangePct: 0, years: 0 },
      reading: { cents: 0.5 * Math.exp(0.1 * draw.normal()), sampled: 12 },
    }));
    const [alone, both] = [fitSpread(found), fitSpread([...found, ...left])];
    const justTuned = (posterior: typeof both) =>
      spreadBeyond(
        predictSpread(posterior, 'j1', { netPct: 0, rangePct: 0, years: 0 }),
        toleranceFor('studio').unisonCents,
      );
    expect(both.left).toBeCloseTo(0.5, 1);
    expect(Math.abs(both.left - 0.5)).toBeLessThan(Math.abs(alone.left - 0.5));
    expect(justTuned(both)).toBeLessThan(0.02);
    // Clean readings leave the error of drifted ones alone.
    expect(both.error / alone.error).toBeGreaterThan(0.7);
  });

  test('readings by register become one: the widest, or the worst word; not measured is not zero', () => {
    expect(
      overallSpread({
        tenor: { cents: 2.5, sampled: 3 },
        middle: { cents: 1.2, sampled: 4 },
        top: { word: 'slow beat' },
      }),
    ).toEqual({
      cents: 2.5,
      sampled: 7,
    });
    expect(overallSpread({ tenor: { word: 'clean' }, middle: { word: 'slow beat' } })).toEqual({
      word: 'slow beat',
    });
    expect(overallSpread({ middle: { cents: 0.6, sampled: 5 }, tenor: { word: 'sour' } })).toEqual({
      word: 'sour',
    });
    expect(overallSpread({})).toBeNull();
  });

  test('one more reading moves an instrument as the fit would', () => {
    const last = learned.at(-1) as SpreadObservation;
    const added = addSpread(fitSpread(learned.slice(0, -1)), last);
    const anew = predictSpread(posterior, last.instrument, change).medianCents;
    expect(Math.abs(predictSpread(added, last.instrument, change).medianCents / anew - 1)).toBeLessThan(0.05);
  });

  test('a bad reading is refused by name', () => {
    expect(() =>
      fitSpread([{ ...learned[0], reading: { cents: -1, sampled: 4 } } as SpreadObservation]),
    ).toThrow(/cents/);
    expect(() => fitSpread([{ ...learned[0], netPct: Number.NaN } as SpreadObservation])).toThrow(/netPct/);
  });
});

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

/** Unisons that hardly move, so that a test of the offset is one. */
const stillUnisons = { ...fitSpread([]), unison: 0.05, use: 0.2 };

describe('what if', () => {
  const air = room(500);
  const place = { past: air, climate: roomClimate({ own: air }) };
  const base = {
    instrument,
    drift,
    spread: fitSpread([]),
    place,
    tolerance: toleranceFor('practice'),
    board: { species: 'spruce-sitka', construction: 'solid', findings: [], referencePct: null },
    room: { volumeM3: 60, airChangesPerH: 0.5 },
    paths: 60,
  } as const;
  const held = whatIf({ ...base, change: { kind: 'hold', where: 'room', lowPct: 42, highPct: 48 } });

  test('held within a band: fewer days beyond, fewer tunings, and water to carry', () => {
    const { difference, asIs, changed } = held.pastYear;
    expect(difference.daysBeyond.mean).toBeLessThan(-10);
    expect(difference.tunings.mean).toBeLessThan(0);
    expect(difference.daysBeyond.mean).toBeCloseTo(changed.daysBeyond.mean - asIs.daysBeyond.mean, 9);
    expect(difference.daysBeyond.low).toBeLessThanOrEqual(difference.daysBeyond.mean);
    expect(held.water?.addedLitres).toBeGreaterThan(50);
    expect(held.water?.removedLitres).toBeGreaterThan(50);
    expect(held.caution).toContain('model');
  });

  test('the difference on shared draws is sharper than two runs apart would be', () => {
    const { difference, asIs, changed } = whatIf({
      ...base,
      paths: 200,
      change: { kind: 'hold', where: 'room', lowPct: 36, highPct: 54 },
    }).pastYear;
    const width = ({ low, high }: { low: number; high: number }) => high - low;
    expect(width(difference.daysBeyond)).toBeLessThan(
      Math.hypot(width(asIs.daysBeyond), width(changed.daysBeyond)),
    );
  });

  test('a band wider than the climate changes nothing at all', () => {
    const { pastYear, coming, water } = whatIf({
      ...base,
      change: { kind: 'hold', where: 'room', lowPct: 5, highPct: 90 },
    });
    for (const { difference } of [pastYear, coming]) {
      for (const part of [difference.daysBeyond, difference.tunings, ...difference.boardDays]) {
        expect(part).toEqual({ mean: 0, low: 0, high: 0 });
      }
    }
    expect(water).toEqual({ addedLitres: 0, removedLitres: 0 });
  });

  test('the litres are those of the moisture balance', () => {
    // One steady day: 60 m³ at half a change an hour from 30 to 42 %RH at 21 °C. Saturated air holds 18.34 g/m³ there (handbook
    // table), so 0.12 × 18.34 = 2.20 g/m³, 30 m³/h, 24 h: 1.585 litres a day.
    const steady = {
      startMs,
      temperatureC: new Float64Array(400).fill(21),
      humidityPct: new Float64Array(400).fill(30),
    };
    const { water } = whatIf({
      ...base,
      paths: 20,
      place: { past: steady, climate: roomClimate({ own: steady }) },
      change: { kind: 'hold', where: 'room', lowPct: 42, highPct: 60 },
    });
    expect(Math.abs((water?.addedLitres ?? 0) / 365 - 1.585)).toBeLessThan(0.01);
    expect(water?.removedLitres).toBe(0);
  });

  test('moved to a steadier room: better; to the same room: no different', () => {
    const steady = room(500, { swing: 4, seed: 8 });
    const moved = whatIf({
      ...base,
      change: { kind: 'move', to: { past: steady, climate: roomClimate({ own: steady }) } },
    });
    expect(moved.pastYear.difference.daysBeyond.mean).toBeLessThan(0);
    expect(moved.water).toBeNull();
    const stayed = whatIf({ ...base, change: { kind: 'move', to: place } });
    expect(stayed.coming.difference.daysBeyond).toEqual({ mean: 0, low: 0, high: 0 });
  });

  test('a laminated board gets no class', () => {
    const laminated = whatIf({
      ...base,
      paths: 20,
      board: { ...base.board, construction: 'laminated' },
      change: { kind: 'hold', where: 'case', lowPct: 42, highPct: 48 },
    });
    expect(laminated.pastYear.asIs.boardDays).toEqual([]);
    expect(laminated.water).toBeNull();
  });

  test('a band upside down, or half a year of past, is refused by name', () => {
    expect(() =>
      whatIf({ ...base, change: { kind: 'hold', where: 'room', lowPct: 50, highPct: 40 } }),
    ).toThrow(/lowPct/);
    const half = room(180);
    expect(() =>
      whatIf({ ...base, place: { ...place, past: half }, change: { kind: 'move', to: place } }),
    ).toThrow(/a year of humidity/);
  });
});

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

  test('cold alone comes back', () => {
    expect(
      whatComesBack({ moistureCents: 0, temperatureCents: 2, ageingCents: 0, settlingCents: 0 }),
    ).toMatch(/^sharp by 2 because it is colder/);
    expect(
      whatComesBack({ moistureCents: 9, temperatureCents: 0.2, ageingCents: 0, settlingCents: 0 }),
    ).toBeNull();
  });
});
