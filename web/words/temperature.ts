/** °C or °F, as the reader chose on this device. Everything is kept in °C; this is the only place that converts. */
import { effect, signal } from '@preact/signals';
import { nbsp, plain } from './numbers.ts';

export type TemperatureUnit = 'C' | 'F';
const key = 'crownwatch:temperature-unit';

function remembered(): TemperatureUnit {
  try {
    return localStorage.getItem(key) === 'F' ? 'F' : 'C';
  } catch {
    return 'C';
  }
}

export const temperatureUnit = signal<TemperatureUnit>(remembered());

effect(() => {
  try {
    localStorage.setItem(key, temperatureUnit.value);
  } catch {
    // Storage refused: the choice lasts as long as the page.
  }
});

export function inUnit(temperatureC: number): number {
  return temperatureUnit.value === 'F' ? (temperatureC * 9) / 5 + 32 : temperatureC;
}

export function toC(value: number): number {
  return temperatureUnit.value === 'F' ? ((value - 32) * 5) / 9 : value;
}

/** "20.8 °C" or "69 °F". */
export function degrees(temperatureC: number): string {
  return `${plain(inUnit(temperatureC), temperatureUnit.value === 'F' ? 0 : 1)}${nbsp}°${temperatureUnit.value}`;
}
