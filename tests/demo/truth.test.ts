/** The truth that makes the pitch is not the model the service fits, and it behaves as pianos are known to. */
import { readdirSync, readFileSync } from 'node:fs';
import path from 'node:path';
import { describe, expect, test } from 'vitest';
import { instruments } from '../../demo-data/instruments.ts';
import { pianoNature } from '../../demo-data/piano-nature.ts';
import { advanceStrings, playForADay, standing, stringsAt, tune } from '../../demo-data/strings.ts';
import { advanceWood, feltMoisturePct, sorptionPct, type Wood, woodAt } from '../../demo-data/wood.ts';
import { past } from './past.ts';

const nature = { boardHours: 120 };

function stand(wood: Wood, humidityPct: number, hours: number): number {
  for (let h = 0; h < hours; h += 1) advanceWood(wood, nature, 20, humidityPct, 1);
  return feltMoisturePct(wood);
}

test('the generator imports the contract, the ports and the seeding, and nothing of the service’s science', () => {
  const folder = path.resolve(import.meta.dirname, '../../demo-data');
  const allowed = [
    '../ingest/index.ts',
    '../server/config.ts',
    '../server/contract/index.ts',
    '../server/data-folder.ts',
    '../server/seed.ts',
  ];
  const files = readdirSync(folder).filter((name) => name.endsWith('.ts'));
  expect(files.length).toBeGreaterThan(20);
  for (const file of files) {
    const source = readFileSync(path.join(folder, file), 'utf8');
    for (const [, from] of source.matchAll(/from '(\.\.\/[^']+)'/g)) expect(allowed).toContain(from);
    expect(source).not.toMatch(/import\(/);
  }
});

describe('wood', () => {
  test('comes near the handbook’s table between its branches', () => {
    // Source: Wood Handbook, table 4-2 at 70 °F; the truth’s curve is another formula, so 0.6 %MC from 25 to 75 %RH.
    const table = [
      [25, 5.4],
      [30, 6.2],
      [40, 7.7],
      [50, 9.2],
      [60, 11.0],
      [65, 12.0],
      [75, 14.4],
    ] as const;
    for (const [rh, pct] of table) expect(Math.abs(sorptionPct(21.1, rh) - pct)).toBeLessThan(0.6);
    expect(sorptionPct(30, 50)).toBeLessThan(sorptionPct(10, 50));
  });

  test('remembers which way the air came: 1 to 4 %MC between the branches at 50 %', () => {
    // Source: TräGuiden, sorption hysteresis at 50 %RH.
    const months = 24 * 400;
    const dry = woodAt(20, 20);
    const wet = woodAt(20, 80);
    const apart = stand(wet, 50, months) - stand(dry, 50, months);
    expect(apart).toBeGreaterThanOrEqual(0.9);
    expect(apart).toBeLessThanOrEqual(4);
  });

  test('wets faster than it dries, over the same step there and back', () => {
    const [up, down] = [woodAt(20, 35), woodAt(20, 65)];
    const [upEnd, downEnd] = [woodAt(20, 35), woodAt(20, 65)].map((wood, i) =>
      stand(wood, i === 0 ? 65 : 35, 24 * 400),
    );
    const share = (wood: Wood, to: number, end: number) => {
      const from = feltMoisturePct(wood);
      return (stand(wood, to, 96) - from) / (end - from);
    };
    expect(share(up, 65, upEnd ?? 0)).toBeGreaterThan(share(down, 35, downEnd ?? 0) + 0.04);
  });

  test('no single time constant describes it: quick on the first day, and still moving after weeks', () => {
    const wood = woodAt(20, 45);
    const start = feltMoisturePct(wood);
    const end = stand(woodAt(20, 45), 60, 24 * 400) - start;
    const left = [24, 24 * 7, 24 * 30].map((until, i, all) => {
      return 1 - (stand(wood, 60, until - (all[i - 1] ?? 0)) - start) / end;
    });
    // One exponential would need the same time constant at each of these ages.
    const hours = [24, 24 * 7, 24 * 30].map((age, i) => -age / Math.log(left[i] ?? 1));
    expect((hours[2] ?? 0) / (hours[0] ?? 1)).toBeGreaterThan(2);
  });

  test('a small movement back and forth is half forgotten, a large one is not', () => {
    const answer = (points: number) => {
      const wood = woodAt(20, 45);
      stand(wood, 45 + points, 24 * 200);
      const high = feltMoisturePct(wood);
      return (high - stand(wood, 45, 24 * 200)) / points;
    };
    expect(answer(3)).toBeLessThan(0.75 * answer(25));
  });
});

describe('strings', () => {
  const row = instruments.find((one) => one.key === 'studio-3');
  if (!row) throw new Error('no such piano');
  const own = pianoNature('test', row);
  const rest = 9;

  function standAfter(moisturePct: number, temperatureC: number, days: number) {
    const strings = stringsAt('test', own, rest, 20, 0);
    tune(strings, 0);
    for (let h = 0; h < days * 24; h += 1) {
      advanceStrings(strings, moisturePct, temperatureC);
      if (h % 24 === 0) playForADay(strings);
    }
    return standing(strings);
  }

  test('the low tenor moves most, the ends least, about 2 to 5 cents for each %MC at A4', () => {
    // Common practice, no source.
    const { registers } = standAfter(rest + 2, 20, 30);
    expect(registers.middle / 2).toBeGreaterThan(1.5);
    expect(registers.middle / 2).toBeLessThan(5.5);
    expect(registers.tenor).toBeGreaterThan(1.3 * registers.middle);
    expect(registers.bass).toBeLessThan(registers.middle);
    expect(registers.top).toBeLessThan(registers.treble);
  });

  test('warmth flattens at once, then comes half back as the plate follows', () => {
    // Common practice, no source: -0.36 cents a kelvin for the whole piano, several times that at first.
    const strings = stringsAt('test', own, rest, 20, 0);
    tune(strings, 0);
    advanceStrings(strings, rest, 28);
    const first = standing(strings).registers.middle;
    for (let h = 0; h < 72; h += 1) advanceStrings(strings, rest, 28);
    const later = standing(strings).registers.middle;
    expect(first).toBeLessThan(-5);
    expect(later).toBeGreaterThan(first + 3);
    expect(later).toBeLessThan(-1);
  });

  test('unisons spread as the board moves, and do not close again when it comes back', () => {
    // Common practice, no source: a season of 20 %RH or so, 3 %MC, parts strings of a unison by some cents.
    const parted = standAfter(rest + 3, 20, 60).spread;
    expect(parted).toBeGreaterThan(standAfter(rest, 20, 60).spread + 0.5);
    expect(parted).toBeLessThan(10);
    const strings = stringsAt('test', own, rest, 20, 0);
    tune(strings, 0);
    const left = standing(strings).spread;
    for (const pct of [rest + 3, rest - 2, rest]) {
      for (let h = 0; h < 24 * 20; h += 1) advanceStrings(strings, pct, 20);
    }
    expect(standing(strings).spread).toBeGreaterThan(left + 0.3);
  });
});

describe('visits', () => {
  const seeded = past('test', Date.UTC(2026, 10, 25), 18);
  const idOf = (key: string) => {
    const index = instruments.findIndex((row) => row.key === key);
    return seeded.records.instruments[index]?.id;
  };
  const visitsOf = (key: string) => seeded.records.visits.filter((visit) => visit.instrumentId === idOf(key));
  const cents = (reading: { unit: string; value: number } | null | undefined) =>
    reading?.unit === 'cents' ? reading.value : Number.NaN;

  test('the restrung piano creeps flat for months, the bass, which kept its strings, does not', () => {
    const visits = visitsOf('studio-5');
    const restrung = visits.findIndex((visit) => visit.stringWork);
    expect(restrung).toBeGreaterThan(0);
    const next = visits[restrung + 1]?.asFound;
    expect(cents(next?.middle)).toBeLessThan(-5);
    expect(cents(next?.middle)).toBeLessThan(cents(next?.bass) - 5);
  });

  test('the low tenor swings widest over the fleet', () => {
    const swings = (register: 'bass' | 'tenor' | 'middle' | 'top') => {
      const all = seeded.records.visits
        .map((visit) => Math.abs(cents(visit.asFound?.[register])))
        .filter((one) => !Number.isNaN(one));
      return all.reduce((sum, one) => sum + one, 0) / all.length;
    };
    expect(swings('tenor')).toBeGreaterThan(1.3 * swings('middle'));
    expect(swings('middle')).toBeGreaterThan(swings('top'));
  });

  test('humidity control keeps pitch: the hall moves less than the rooms without', () => {
    const worst = (key: string) =>
      Math.max(
        ...visitsOf(key)
          .slice(1)
          .map((visit) => Math.abs(cents(visit.asFound?.middle))),
      );
    for (const held of ['auditorium-a', 'auditorium-b']) {
      for (const free of ['practice-5', 'lecture', 'studio-3']) expect(worst(held)).toBeLessThan(worst(free));
    }
  });
});
