/** Torque of tuning pins: the conversion against its published factor, the classes against what the trade names. */
import { expect, test } from 'vitest';
import { newtonMetresPerInchPound, pinClass, pinsClass, torqueClass } from '../../server/contract/index.ts';

test('one inch-pound is 0.112 984 8 N·m', () => {
  // NIST SP 811 (2008), appendix B.8: pound-force inch to newton metre, 1.129 848 E-01.
  expect(newtonMetresPerInchPound).toBeCloseTo(0.112_984_8, 7);
});

test('classes meet what the trade names', () => {
  // Common practice, no source: new 80 to 120 in·lb, good 60 to 80, serviceable 50 to 70, marginal 35 to 50, failing to 30.
  const ofInchPounds = (inLb: number) => torqueClass(inLb * newtonMetresPerInchPound);
  expect([120, 100, 80, 60, 50].map(ofInchPounds)).toEqual([0, 0, 0, 0, 0]);
  expect(ofInchPounds(45)).toBe(1);
  expect(ofInchPounds(36)).toBe(2);
  expect([30, 20, 0].map(ofInchPounds)).toEqual([3, 3, 3]);
});

test('without a wrench, what is felt counts, and a pin that does not hold is the worst', () => {
  const felt = (feel: 'tight' | 'fair' | 'loose' | 'jumpy', holds: boolean | null = true) =>
    pinClass({ torqueNm: null, feel, holds });
  expect(['tight', 'fair', 'jumpy', 'loose'].map((one) => felt(one as 'tight'))).toEqual([0, 0, 1, 2]);
  expect(felt('tight', false)).toBe(3);
  expect(pinClass({ torqueNm: null, feel: null, holds: null })).toBeNull();
});

test('the whole is as its worst section, a section as its middle pin', () => {
  const pin = (section: string, torqueNm: number) => ({ section, torqueNm, feel: null, holds: null });
  expect(pinsClass([pin('bass', 3), pin('bass', 8), pin('bass', 9), pin('top', 9)])).toBe(0);
  expect(pinsClass([pin('bass', 3), pin('bass', 3.2), pin('bass', 9), pin('top', 9)])).toBe(3);
  expect(pinsClass([])).toBeNull();
});
