/** Numbers as they were typed, in the unit of what they measure. */
import { itemOf } from '../../server/contract/index.ts';
import { typed } from '../words/numbers.ts';
import type { PinEntry } from './draft.ts';

/** A number typed, null for nothing or for what is none; that is among the faults. */
export const read = (text: string): number | null => {
  const value = typed(text);
  return value === null || Number.isNaN(value) ? null : value;
};

/** In the catalogue's own unit, whatever it was typed in. */
export function measuredValue(itemId: string, text: string, unit: string): number | null {
  const value = read(text);
  const measure = itemOf(itemId)?.item.measure;
  if (value === null || !measure) return null;
  const factor = unit === measure.unit ? 1 : (measure.alsoIn?.[unit] ?? 1);
  return Math.round(value * factor * 1000) / 1000;
}

export const torqueOf = (pin: PinEntry): number | null => measuredValue('pins.torque', pin.torque, pin.unit);
