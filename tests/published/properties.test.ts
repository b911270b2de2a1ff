/**
 * What must hold whatever the numbers, tried on random ones (fast-check): order, limits, units, missing values, misuse.
 * Source: the definitions of the quantities themselves.
 */
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { planCorrection } from '../../server/contract/index.ts';
import {
  type Air,
  absoluteHumidityGm3,
  advanceMould,
  advancePlate,
  advanceReference,
  advanceSlab,
  boardStrain,
  boardStressClass,
  calibratedPct,
  centsBetween,
  centsForTensionRatio,
  createSlab,
  dehumidifierDuty,
  dewPointC,
  equilibriumMoisturePct,
  FINISHES,
  frostPointC,
  humidityAtTemperaturePct,
  humidityFromAbsolutePct,
  humidityRatioKgKg,
  hzAt,
  indoorHumidityPct,
  isUncertain,
  keyHz,
  moistureLoadKgH,
  offsetAtReference,
  type Part,
  pressureAtAltitudePa,
  probabilityBeyond,
  type Slab,
  saltCalibration,
  saturationPressurePa,
  sizeChange,
  slabMeanPct,
  soundboardPart,
  sweatMarginK,
  tensionRatioForCents,
  vapourPressurePa,
  windowsDryUpToPct,
} from '../../server/science/index.ts';

const real = (min: number, max: number) => fc.double({ min, max, noNaN: true });
const temperature = real(-40, 60);
const humidity = real(0.5, 100);
const air: fc.Arbitrary<Air> = fc.record({ temperatureC: real(-20, 45), humidityPct: real(0, 100) });
const gappy: fc.Arbitrary<Air> = fc.oneof(
  { weight: 5, arbitrary: air },
  { weight: 1, arbitrary: fc.constant({ temperatureC: null, humidityPct: 50 }) },
  { weight: 1, arbitrary: fc.constant({ temperatureC: 20, humidityPct: null }) },
);
const board: fc.Arbitrary<Part> = fc
  .record({
    thicknessMm: real(4, 15),
    finish: fc.constantFrom(...FINISHES),
    cells: fc.integer({ min: 3, max: 40 }),
  })
  .map(({ thicknessMm, finish, cells }) => ({
    ...soundboardPart({ thicknessMm, finish, species: 'spruce-sitka' }),
    cells,
  }));

describe('air', () => {
  test('moister air has more vapour, a higher dew point and moister wood', () => {
    fc.assert(
      fc.property(temperature, humidity, humidity, (t, a, b) => {
        const [low, high] = [Math.min(a, b), Math.max(a, b)];
        fc.pre(high - low > 1e-6);
        expect(absoluteHumidityGm3(t, high)).toBeGreaterThan(absoluteHumidityGm3(t, low));
        expect(dewPointC(t, high) ?? Number.NaN).toBeGreaterThanOrEqual(dewPointC(t, low) ?? Number.NaN);
        expect(equilibriumMoisturePct(t, high)).toBeGreaterThan(equilibriumMoisturePct(t, low));
      }),
    );
  });

  test('the dew point is never above the air, and equals it in saturation', () => {
    fc.assert(
      fc.property(temperature, humidity, (t, h) => {
        expect(dewPointC(t, h) ?? Number.NaN).toBeLessThanOrEqual(t);
        expect(dewPointC(t, 100) ?? Number.NaN).toBeCloseTo(t, 3);
      }),
    );
  });

  test('units go round: humidity to g/m³ and back; warmed and cooled again; cents to Hz and back; cents to tension and back', () => {
    fc.assert(
      fc.property(temperature, temperature, humidity, real(-600, 600), (t, other, h, cents) => {
        expect(humidityFromAbsolutePct(t, absoluteHumidityGm3(t, h))).toBeCloseTo(h, 9);
        const there = humidityAtTemperaturePct(t, h, other) ?? Number.NaN;
        if (there <= 100) expect(humidityAtTemperaturePct(other, there, t)).toBeCloseTo(h, 9);
        expect(centsBetween(hzAt(cents, 440), 440)).toBeCloseTo(cents, 9);
        expect(centsForTensionRatio(tensionRatioForCents(cents))).toBeCloseTo(cents, 9);
      }),
    );
  });
});

describe('slabs', () => {
  test('never leave the range of what they held and what the air asked', () => {
    fc.assert(
      fc.property(board, real(0, 25), fc.array(gappy, { maxLength: 60 }), (part, start, hours) => {
        const asked = hours.flatMap((one) => equilibriumMoisturePct(one.temperatureC, one.humidityPct) ?? []);
        const [least, most] = [Math.min(start, ...asked) - 1e-9, Math.max(start, ...asked) + 1e-9];
        for (const value of advanceSlab(createSlab(part, start), hours).profilePct) {
          expect(value).toBeGreaterThanOrEqual(least);
          expect(value).toBeLessThanOrEqual(most);
        }
      }),
    );
  });

  test('hour by hour is at once, to 1e-12, through JSON, with gaps, and with other air below', () => {
    fc.assert(
      fc.property(
        board,
        real(0, 25),
        fc.array(fc.tuple(gappy, gappy), { minLength: 1, maxLength: 80 }),
        fc.boolean(),
        (part, start, hours, twoSided) => {
          const [top, below] = [hours.map(([one]) => one), hours.map(([, one]) => one)];
          const begin = createSlab(part, start);
          const means = new Float64Array(hours.length);
          const atOnce = advanceSlab(begin, top, twoSided ? { underside: below, means } : { means });
          let step: Slab = begin;
          hours.forEach(([one, other], i) => {
            step = JSON.parse(
              JSON.stringify(advanceSlab(step, [one], twoSided ? { underside: [other] } : {})),
            );
            expect(Math.abs(slabMeanPct(step) - (means[i] ?? Number.NaN))).toBeLessThan(1e-12);
          });
          step.profilePct.forEach((value, i) => {
            expect(Math.abs(value - (atOnce.profilePct[i] ?? Number.NaN))).toBeLessThan(1e-12);
          });
          expect(step.heldHours).toBe(atOnce.heldHours);
          expect(begin).toEqual(createSlab(part, start));
        },
      ),
    );
  });

  test('a gap holds the profile, is uncertain after 48 hours, and is made up for by measured hours', () => {
    const hour = { temperatureC: 20, humidityPct: 30 };
    const gap = { temperatureC: null, humidityPct: null };
    const part = soundboardPart({ thicknessMm: 8, finish: 'lacquer', species: 'spruce-sitka' });
    const before = advanceSlab(createSlab(part, 9), new Array<Air>(100).fill(hour));
    const held = (hours: number) => advanceSlab(before, new Array<Air>(hours).fill(gap));
    expect(held(48).profilePct).toEqual(before.profilePct);
    expect(held(48).heldHours).toBe(48);
    expect(isUncertain(held(48))).toBe(false);
    expect(isUncertain(held(49))).toBe(true);
    expect(isUncertain(advanceSlab(held(60), new Array<Air>(11).fill(hour)))).toBe(true);
    expect(isUncertain(advanceSlab(held(60), new Array<Air>(12).fill(hour)))).toBe(false);
    // A year without air is forgotten within a season of measured hours.
    expect(isUncertain(advanceSlab(held(8760), new Array<Air>(90 * 24).fill(hour)))).toBe(false);
  });

  test('faces see their own air: a dry underside pulls its cells down, not the top ones', () => {
    const part = soundboardPart({ thicknessMm: 8, finish: 'bare', species: 'spruce-sitka' });
    const hours = new Array<Air>(2000).fill({ temperatureC: 20, humidityPct: 50 });
    const underside = new Array<Air>(2000).fill({ temperatureC: 20, humidityPct: 30 });
    const { profilePct } = advanceSlab(createSlab(part, 8), hours, { underside });
    for (const [i, value] of profilePct.entries()) {
      if (i > 0) expect(value).toBeLessThan(profilePct[i - 1] ?? Number.NaN);
    }
    // Alike faces: the mean comes to rest half way.
    const half = (equilibriumMoisturePct(20, 50) + equilibriumMoisturePct(20, 30)) / 2;
    const sum = slabMeanPct(advanceSlab(createSlab(part, 8), hours, { underside }));
    expect(sum).toBeCloseTo(half, 6);
  });
});

describe('the board', () => {
  const state = (moisturePct: number, referencePct: number) =>
    boardStressClass({
      species: 'spruce-sitka',
      moisturePct,
      referencePct,
      construction: 'solid',
      findings: [],
    });
  const moisture = real(2, 28);

  test('drying below the reference never lowers the dry class, wetting above it never lowers the wet one', () => {
    fc.assert(
      fc.property(moisture, moisture, moisture, (referencePct, a, b) => {
        const [low, high] = [Math.min(a, b), Math.max(a, b)];
        if (high <= referencePct) {
          expect(state(low, referencePct).class ?? Number.NaN).toBeGreaterThanOrEqual(
            state(high, referencePct).class ?? Number.NaN,
          );
        }
        if (low >= referencePct) {
          expect(state(high, referencePct).class ?? Number.NaN).toBeGreaterThanOrEqual(
            state(low, referencePct).class ?? Number.NaN,
          );
        }
      }),
    );
  });

  test('findings never raise what is allowed', () => {
    fc.assert(
      fc.property(
        moisture,
        moisture,
        fc.subarray(['open crack', 'separated rib', 'no crown', 'loose pins'] as const),
        (moisturePct, referencePct, findings) => {
          const sound = {
            species: 'spruce-red',
            moisturePct,
            referencePct,
            construction: 'solid',
            findings: [],
          } as const;
          const flawed = boardStressClass({ ...sound, findings });
          expect(flawed.allowed).toBeLessThanOrEqual(boardStressClass(sound).allowed);
          expect(flawed.class ?? Number.NaN).toBeGreaterThanOrEqual(
            boardStressClass(sound).class ?? Number.NaN,
          );
        },
      ),
    );
  });

  test('the slow mean goes towards the board and never past it, alike in one stride or many', () => {
    fc.assert(
      fc.property(moisture, moisture, fc.integer({ min: 1, max: 5000 }), (reference, mean, hours) => {
        const there = advanceReference(reference, mean, hours);
        expect(Math.abs(there - mean)).toBeLessThanOrEqual(Math.abs(reference - mean) + 1e-12);
        const half = advanceReference(advanceReference(reference, mean, hours / 2), mean, hours / 2);
        expect(half).toBeCloseTo(there, 10);
      }),
    );
  });
});

describe('missing in, missing out', () => {
  test.each<[string, unknown]>([
    ['saturationPressurePa', saturationPressurePa(null)],
    ['vapourPressurePa', vapourPressurePa(null, 50)],
    ['dewPointC', dewPointC(20, null)],
    ['frostPointC', frostPointC(null, 50)],
    ['absoluteHumidityGm3', absoluteHumidityGm3(20, null)],
    ['humidityRatioKgKg', humidityRatioKgKg(null, 50)],
    ['humidityAtTemperaturePct', humidityAtTemperaturePct(20, 50, null)],
    ['equilibriumMoisturePct', equilibriumMoisturePct(null, 50)],
    ['boardStrain', boardStrain({ species: 'spruce-sitka', moisturePct: null, referencePct: 8 })],
    ['advancePlate', advancePlate(null, null)],
    ['sweatMarginK', sweatMarginK([{ temperatureC: 20, humidityPct: null }])[0]],
    [
      'moistureLoadKgH',
      moistureLoadKgH(
        { volumeM3: 50, airChangesPerH: 1 },
        { temperatureC: null, humidityPct: 1 },
        { temperatureC: 20, humidityPct: 45 },
      ),
    ],
    [
      'indoorHumidityPct',
      indoorHumidityPct({ volumeM3: 50, airChangesPerH: 1 }, { temperatureC: 5, humidityPct: null }, 20),
    ],
    ['windowsDryUpToPct', windowsDryUpToPct(20, null)],
    ['centsBetween', centsBetween(null, 440)],
    ['probabilityBeyond', probabilityBeyond(1, null, 3)],
    ['offsetAtReference', offsetAtReference('bass', 2, { stringC: null, plateC: 20, referenceC: 20 })],
    ['dehumidifierDuty', dehumidifierDuty(null, 10)],
  ])('%s', (_, value) => expect(value).toBeNull());

  test('a dew point of air without vapour is missing too', () => expect(dewPointC(20, 0)).toBeNull());
  test('calibration of nothing', () => {
    const jar = (salt: 'MgCl2' | 'NaCl', readingPct: number) => ({ salt, temperatureC: 20, readingPct });
    expect(calibratedPct(saltCalibration([jar('MgCl2', 33), jar('NaCl', 75)]), null)).toBeNull();
  });
});

describe('misuse is a RangeError that names the quantity', () => {
  const part = soundboardPart({ thicknessMm: 8, finish: 'bare', species: 'spruce-sitka' });
  const slab = createSlab(part, 8);
  const hour = { temperatureC: 20, humidityPct: 45 };
  test.each<[string, () => unknown]>([
    ['temperatureC', () => saturationPressurePa(-101)],
    ['temperatureC', () => saturationPressurePa(Number.NaN)],
    ['humidityPct', () => dewPointC(20, 100.1)],
    ['humidityPct', () => equilibriumMoisturePct(20, -0.1)],
    ['temperatureC', () => equilibriumMoisturePct(90, 50)],
    ['humidityPct', () => advanceSlab(slab, [{ temperatureC: 20, humidityPct: 101 }])],
    ['pressurePa', () => humidityRatioKgKg(20, 50, 1013.25)],
    ['vapour pressure', () => humidityRatioKgKg(99.9, 100, 89_875)],
    ['altitudeM', () => pressureAtAltitudePa(12_000)],
    ['moisturePct', () => createSlab(part, 41)],
    ['thicknessMm', () => soundboardPart({ thicknessMm: 0.008, finish: 'bare', species: 'spruce-sitka' })],
    ['cells', () => createSlab({ ...part, cells: 2.5 }, 8)],
    ['top.emissionMps', () => createSlab({ ...part, top: { emissionMps: -1, filmSPerM: 0 } }, 8)],
    ['underside', () => advanceSlab(slab, [hour, hour], { underside: [hour] })],
    ['means', () => advanceSlab(slab, [hour, hour], { means: new Float64Array(1) })],
    ['profilePct', () => advanceSlab({ ...slab, profilePct: [8] }, [hour])],
    ['fromPct', () => sizeChange(100, 0.0015, 31, 10)],
    ['hz', () => centsBetween(0, 440)],
    ['key', () => keyHz(89)],
    [
      'middle in cents',
      () => planCorrection({ bass: null, tenor: null, middle: 700, treble: null, top: null }),
    ],
    ['hours', () => advanceReference(8, 8, -1)],
    ['volumeM3', () => moistureLoadKgH({ volumeM3: 0, airChangesPerH: 1 }, hour, hour)],
    ['airChangesPerH', () => indoorHumidityPct({ volumeM3: 50, airChangesPerH: 0, people: 2 }, hour, 20)],
    ['humidityPct', () => advanceMould({ index: 0, dryHours: 0 }, { temperatureC: 20, humidityPct: 101 })],
    ['capacityLitresPerDay', () => dehumidifierDuty(-1, 0)],
  ])('%s', (name, call) => {
    expect(call).toThrow(RangeError);
    expect(call).toThrow(name);
  });
});
