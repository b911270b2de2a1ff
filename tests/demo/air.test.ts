/** Could this air exist, and does it behave as indoor air does? Checked against tables, a library and real houses. */
import { existsSync, readFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import path from 'node:path';
import { describe, expect, test } from 'vitest';
import { type Air as RoomAir, roomAir } from '../../demo-data/building.ts';
import { dayMs, localTime } from '../../demo-data/clock.ts';
import { dewPointC, humidityPct, saturationGm3, saturationPressurePa } from '../../demo-data/humid-air.ts';
import { advanceBox, boxAt } from '../../demo-data/moisture-box.ts';
import { rooms } from '../../demo-data/scenario.ts';
import { simulate } from '../../demo-data/world.ts';
import { hourly, mean, medianRange, past } from './past.ts';

interface PsychroLib {
  SI: unknown;
  SetUnitSystem(system: unknown): void;
  GetSatVapPres(temperatureC: number): number;
  GetTDewPointFromRelHum(temperatureC: number, humidity0to1: number): number;
}

describe('the generator’s own formulas', () => {
  // Source: PsychroLib 1.1.1 (ASHRAE Fundamentals 2017). The Magnus form is another formula, so 0.5 % and 0.1 K.
  const reference: PsychroLib = createRequire(import.meta.url)('psychrolib');
  reference.SetUnitSystem(reference.SI);

  test('saturation pressure over water, 0.5 %; dew point, 0.1 K', () => {
    for (let t = 0; t <= 40; t += 2.5) {
      expect(Math.abs(saturationPressurePa(t) / reference.GetSatVapPres(t) - 1)).toBeLessThan(0.005);
      for (const rh of [30, 50, 90]) {
        const expected = reference.GetTDewPointFromRelHum(t, rh / 100);
        // Below freezing PsychroLib tells the frost point.
        if (expected < 0.5) continue;
        expect(Math.abs(dewPointC((rh / 100) * saturationGm3(t), t) - expected)).toBeLessThan(0.1);
      }
    }
  });

  test('absolute humidity of 22 °C and 78 %: 15.14 g/m³, dew point 17.98 °C', () => {
    // Source: a worked example with the constants 17.27 and 237.7; 0.5 % and 0.1 K for the other constants.
    const vapour = 0.78 * saturationGm3(22);
    expect(Math.abs(vapour / 15.14 - 1)).toBeLessThan(0.005);
    expect(Math.abs(dewPointC(vapour, 22) - 17.98)).toBeLessThan(0.1);
    expect(humidityPct(vapour, 22)).toBeCloseTo(78, 9);
  });

  test('a closed box keeps its water; an open one becomes like its surroundings', () => {
    const closed = boxAt(50, 20);
    for (let n = 0; n < 1000; n += 1) {
      advanceBox(closed, { bufferPerHour: 0, bufferHours: 100 }, 0, 0, 20, 0, null);
    }
    expect(closed.humidityPct).toBeCloseTo(50, 9);
    const open = boxAt(50, 20);
    for (let n = 0; n < 40_000; n += 1) {
      advanceBox(open, { bufferPerHour: 1, bufferHours: 100 }, 5, 0.5, 20, 0, null);
    }
    expect(open.vapourGm3).toBeCloseTo(5, 6);
  });

  test('outdoor air heated to 21 °C: -10 °C/80 % gives 9 %, 0/85 gives 21, 5/80 gives 28', () => {
    // Source: computed table of the trade's figures, over ice below zero, whole percent; ours is over water, so 1.5.
    for (const [t, rh, inside] of [
      [-10, 80, 9],
      [0, 85, 21],
      [5, 80, 28],
    ] as const) {
      const vapour = (rh / 100) * saturationGm3(t);
      expect(Math.abs(humidityPct((vapour * (t + 273.15)) / 294.15, 21) - inside)).toBeLessThan(1.5);
    }
  });

  test('an empty room without stores comes to exactly that', () => {
    const plain = rooms.find((room) => room.key === 'practice-5')?.nature;
    if (!plain) throw new Error('no such room');
    const steps = 4000;
    const steady = (value: number) => new Float64Array(steps).fill(value);
    const outdoors = {
      startMs: 0,
      temperatureC: steady(0),
      vapourGm3: steady(0.85 * saturationGm3(0)),
      sun: steady(0),
    };
    const nature = {
      ...plain,
      habit: { kind: 'parish', persons: 0 },
      trade: { bufferPerHour: 0, bufferHours: 1 },
    } as const;
    const air: RoomAir = roomAir('empty', nature, outdoors, () => 0);
    const last = steps - 1;
    const inside = humidityPct(outdoors.vapourGm3[last] ?? 0, air.temperatureC[last] ?? 0);
    expect(air.temperatureC[last] ?? 0).toBeGreaterThan(19);
    expect(air.humidityPct[last] ?? 0).toBeCloseTo(inside, 6);
  });
});

// Nothing but work: a busy machine takes more than a minute for it.
describe('eighteen months', { timeout: 600_000 }, () => {
  const seeded = past();
  const { world } = seeded;

  test('every reading can exist, in steps of 0.1', () => {
    let count = 0;
    for (const course of seeded.courses.values()) {
      for (let i = 0; i < course.timesMs.length; i += 1) {
        const [rh, t] = [course.humidityPct[i] ?? Number.NaN, course.temperatureC[i] ?? Number.NaN];
        const fits = rh > 3 && rh <= 100 && t > -35 && t < 45 && Number.isInteger(Math.round(rh * 1e6) / 1e5);
        if (!fits) throw new Error(`${rh} % at ${t} °C`);
        count += 1;
      }
    }
    expect(count).toBeGreaterThan(2_600_000);
    expect(count).toBeLessThan(36 * 79_300);
  });

  test('no air anywhere holds more water than it can, or less than none', () => {
    let points = 0;
    for (const venue of simulate(world, world.anchor.endMs, () => true)) {
      for (const air of [venue.outdoors, ...venue.rooms.values(), ...venue.inside.values()]) {
        for (let n = 0; n < air.humidityPct.length; n += 7) {
          const t = air.temperatureC[n] ?? Number.NaN;
          const vapour = ((air.humidityPct[n] ?? Number.NaN) / 100) * saturationGm3(t);
          if (!(vapour > 0) || dewPointC(vapour, t) > t) throw new Error(`${vapour} g/m³ at ${t} °C`);
          points += 1;
        }
      }
    }
    expect(points).toBeGreaterThan(600_000);
  });

  const january = Date.UTC(2026, 0, 10);
  const july = Date.UTC(2025, 6, 10);
  const month = 30 * dayMs;

  test('heating dries: uncontrolled rooms are far drier in January than in July, though warm', () => {
    for (const key of ['practice-5/room', 'studio-3/room', 'lecture/room', 'ellinbrae/room']) {
      const course = seeded.course(key);
      const from = key === 'lecture/room' ? Date.UTC(2025, 7, 1) : july;
      const winter = mean(course, 'humidityPct', january, january + month);
      expect(winter).toBeLessThan(40);
      expect(mean(course, 'humidityPct', from, from + month)).toBeGreaterThan(winter + 10);
      expect(mean(course, 'temperatureC', january, january + month)).toBeGreaterThan(18.5);
    }
  });

  test('the unheated church is cold and damp in January and cannot freeze dry', () => {
    const nave = seeded.course('nave/room');
    expect(mean(nave, 'temperatureC', january, january + month)).toBeLessThan(7);
    expect(mean(nave, 'humidityPct', january, january + month)).toBeGreaterThan(60);
  });

  test('humidified rooms hold their floor in winter; the case evens the room out', () => {
    const hall = seeded.course('auditorium/room');
    expect(mean(hall, 'humidityPct', january, january + month)).toBeGreaterThan(40);
    const [room, inside] = [seeded.course('auditorium/room'), seeded.course('auditorium-b/inside')];
    expect(medianRange(hourly(inside), 24)).toBeLessThan(medianRange(hourly(room), 24));
  });

  test('outdoors has seasons, days, and fronts that bring dry air within hours', () => {
    const outdoors = seeded.course('conservatory/outdoors');
    const [cold, warm] = [january, july].map((from) => mean(outdoors, 'temperatureC', from, from + month));
    expect((warm ?? 0) - (cold ?? 0)).toBeGreaterThan(13);
    expect((warm ?? 0) - (cold ?? 0)).toBeLessThan(30);
    const at = (hour: number) => {
      const chosen = outdoors.timesMs.flatMap((timeMs, i) =>
        Math.floor(localTime(timeMs).hour) === hour ? [outdoors.temperatureC[i] ?? 0] : [],
      );
      return chosen.reduce((sum, one) => sum + one, 0) / chosen.length;
    };
    expect(at(15) - at(5)).toBeGreaterThan(3);
    const falls = outdoors.temperatureC.filter((t, i) => (outdoors.temperatureC[i - 36] ?? t) - t > 7);
    expect(falls.length).toBeGreaterThan(20);
  });

  const folder = path.resolve(import.meta.dirname, '../../../shared/datasets/indoor-climate-fi');
  const absent = !existsSync(folder);
  if (absent) console.warn('demo: the open data set is absent; the comparison with real houses is skipped');

  test.skipIf(absent)('rooms swing like rooms of real houses, by the day and by the week', () => {
    // Source: TRH-database, hourly indoor climate of two detached houses in Finland 2010-2012, CC BY 4.0.
    const real = ['house3-indoor1', 'house4-indoor1', 'house3-outdoor'].map((name) =>
      readFileSync(path.join(folder, `${name}.csv`), 'utf8')
        .trim()
        .split('\n')
        .slice(1)
        .map((line) => Number(line.split(',')[2] || Number.NaN)),
    );
    const [house3, house4, outdoors] = real.map((rh) => [medianRange(rh, 24), medianRange(rh, 168)]);
    const uncontrolled = ['practice-5', 'studio-3', 'studio-4', 'ellinbrae', 'brannoway'].map((key) => {
      const rh = hourly(seeded.course(`${key}/room`));
      return [medianRange(rh, 24), medianRange(rh, 168)];
    });
    const ownOutdoors = hourly(seeded.course('conservatory/outdoors'));
    [24, 168].forEach((hours, window) => {
      const houses = [house3?.[window] ?? 0, house4?.[window] ?? 0];
      for (const room of uncontrolled) {
        expect(room[window]).toBeGreaterThan(Math.min(...houses) / 2);
        expect(room[window]).toBeLessThan(Math.max(...houses) * 1.5);
      }
      const share = medianRange(ownOutdoors, hours) / (outdoors?.[window] ?? 0);
      expect(share).toBeGreaterThan(0.6);
      expect(share).toBeLessThan(1.5);
    });
  });
});
