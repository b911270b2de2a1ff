/**
 * What a room sensor can mean. A value outside is set aside, never bent to fit, with one exception: capacitive humidity
 * sensors read slightly over 100 % in saturated air (common practice, no source), so up to 101 % counts as 100 %.
 */
import type { Quantity } from '../reading.ts';

export const ranges: Readonly<Record<Quantity, { readonly least: number; readonly most: number }>> = {
  humidityPct: { least: 0, most: 100 },
  temperatureC: { least: -40, most: 85 },
  batteryPct: { least: 0, most: 100 },
};
const saturatedPct = 101;

const words: Readonly<Record<Quantity, readonly [string, string]>> = {
  humidityPct: ['humidity', '%'],
  temperatureC: ['temperature', '°C'],
  batteryPct: ['battery level', '%'],
};

/** The value to keep, or the sentence that says why not. */
export function checkRange(quantity: Quantity, value: number): { value: number } | { sentence: string } {
  const { least, most } = ranges[quantity];
  if (value >= least && value <= most) return { value };
  if (quantity === 'humidityPct' && value > most && value <= saturatedPct) return { value: most };
  const [name, unit] = words[quantity];
  if (!Number.isFinite(value)) return { sentence: `${name} is not a finite number` };
  return { sentence: `${name} ${Number(value.toFixed(2))} ${unit} is outside ${least} to ${most} ${unit}` };
}
