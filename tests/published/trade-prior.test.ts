/**
 * What is expected of a piano that nobody has measured. Common practice, no source: medians and 90 % ranges of dated field readings
 * in cents per %RH, here per %MC at 0.16 %MC to 1 %RH (25 to 55 %RH, 20 °C).
 */
import { describe, expect, test } from 'vitest';
import { ownSlope } from '../../server/science/drift/index.ts';
import { fitDrift, predictOffset, REGISTERS } from '../../server/science/index.ts';

const learned = fitDrift([], { prior: 'trade' });
const piano = (kind: 'grand' | 'upright') => ({ id: 'nobody', kind, finish: null });
const slope = (kind: 'grand' | 'upright', register: (typeof REGISTERS)[number]) =>
  ownSlope(learned, piano(kind), register).slopeCentsPerPct;

describe('trade prior', () => {
  test('A4 about 3 cents per %MC (2 to 5); the tenor most, the top least', () => {
    expect(slope('grand', 'middle')).toBeGreaterThan(2);
    expect(slope('grand', 'middle')).toBeLessThan(5);
    const slopes = REGISTERS.map((register) => slope('grand', register));
    expect(Math.max(...slopes)).toBe(slope('grand', 'tenor'));
    expect(Math.min(...slopes)).toBe(slope('grand', 'top'));
  });

  test('an upright moves more in the low tenor by 1.2 to 1.5', () => {
    const ratio = slope('upright', 'tenor') / slope('grand', 'tenor');
    expect(ratio).toBeGreaterThanOrEqual(1.2);
    expect(ratio).toBeLessThanOrEqual(1.5);
  });

  test('a year of nothing but age: 1.8 cents flat; 5.6 K colder: about 2 cents sharp, the tenor 1 to 1.5', () => {
    const still = { leftCents: 0, moistureChangePct: 0, years: 0, temperatureChangeC: 0 };
    const told = (register: (typeof REGISTERS)[number], change: Partial<typeof still>) =>
      predictOffset(learned, piano('grand'), register, { ...still, ...change })?.meanCents ?? Number.NaN;
    expect(told('middle', { years: 1 })).toBeCloseTo(-1.8, 6);
    expect(Math.abs(told('middle', { temperatureChangeC: -5.6 }) - 2)).toBeLessThan(0.1);
    expect(told('tenor', { temperatureChangeC: -5.6 })).toBeGreaterThanOrEqual(1);
    expect(told('tenor', { temperatureChangeC: -5.6 })).toBeLessThanOrEqual(1.5);
  });
});
