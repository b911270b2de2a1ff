/** What comes: fans in order, and the wider the poorer the source of the seasons. */
import { describe, expect, test } from 'vitest';
import {
  type ClimateKnowledge,
  forecast,
  forecastPaths,
  type RoomClimate,
  registers,
  roomClimate,
} from '../../server/science/drift/index.ts';
import { day, input, room, startMs } from './plain-piano.ts';

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

  test('a register read since goes on from there, the others from the tuning', () => {
    const tuned = input(500, 60);
    const { leftCents } = tuned.since;
    const { middle: _, ...others } = leftCents;
    const { since: read } = input(500, 2);
    const both = forecast({
      ...tuned,
      since: { ...tuned.since, leftCents: others },
      later: [{ ...read, leftCents: { middle: 9 } }],
    });
    expect(both.registers.map(({ register }) => register)).toEqual(registers);
    const first = (of: typeof told, name: string) => {
      const fan = of.registers.find(({ register }) => register === name)?.offsetCents;
      return [fan?.low[0], fan?.median[0], fan?.high[0]].map((cents) => cents ?? Number.NaN);
    };
    const [low, median, high] = first(both, 'middle');
    // Three days on nothing much has happened: nine cents sharp, give or take what a reading leaves open.
    expect(Math.abs((median ?? 0) - 9)).toBeLessThan(1);
    expect((high ?? 0) - (low ?? 0)).toBeLessThan(3);
    expect(first(both, 'tenor')).toEqual(first(told, 'tenor'));
    expect(both.spreadCents).toEqual(told.spreadCents);
  });

  test('unisons read wide since do not come back; read clean, they still spread as from the tuning', () => {
    const tuned = input(500, 60);
    const { since } = input(500, 2);
    const wide = forecast({ ...tuned, unisons: { since, cents: 6 } }).spreadCents;
    expect(wide.median[0]).toBeGreaterThan(5.4);
    expect(wide.median[0]).toBeLessThan(7);
    wide.median.forEach((cents, day) => {
      expect(cents).toBeGreaterThanOrEqual(told.spreadCents.median[day] ?? Number.NaN);
    });
    expect(forecast({ ...tuned, unisons: { since, cents: 0.1 } }).spreadCents.median[0]).toBeCloseTo(
      told.spreadCents.median[0] ?? Number.NaN,
      1,
    );
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
