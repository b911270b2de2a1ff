/** What another climate would change: held within a band, or moved to another room. */
import { describe, expect, test } from 'vitest';
import { fitSpread, roomClimate, whatIf } from '../../server/science/drift/index.ts';
import { toleranceFor } from '../../server/science/pitch.ts';
import { drift, instrument, room, startMs } from './plain-piano.ts';

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
    expect(held.caution).not.toContain('faces');
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
