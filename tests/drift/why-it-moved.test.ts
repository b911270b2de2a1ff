/** Why a register moved: its parts add up, and what comes back is said. */
import { describe, expect, test } from 'vitest';
import { whatComesBack, whyItMoved } from '../../server/science/drift/index.ts';
import { drift, instrument } from './plain-piano.ts';

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
