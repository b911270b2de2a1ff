/** How high each plot reaches: fixed where a reader compares by eye, wider where the data ask for it. */
import { temperatureUnit } from '../words/temperature.ts';
import { extent } from './columns.ts';
import type { Drawing } from './drawing.ts';

type Range = [number, number];

export function airRange({ air, quantity }: Drawing): Range {
  const found = extent(air[1], air[2]);
  const usual: Range =
    quantity === 'humidityPct' ? [20, 60] : temperatureUnit.value === 'F' ? [60, 80] : [15, 25];
  const step = quantity === 'humidityPct' ? 10 : 5;
  if (!found) return usual;
  return [
    Math.min(usual[0], Math.floor(found[0] / step) * step),
    Math.max(usual[1], Math.ceil(found[1] / step) * step),
  ];
}

/** At least three points of moisture, so that a quiet month looks quiet; room for the ramp below the line. */
export function boardRange({ board }: Drawing): Range {
  const found = extent(board[1], board[2]) ?? [6, 9];
  const middle = (found[0] + found[1]) / 2;
  const half = Math.max(1.5, (found[1] - found[0]) / 2 + 0.2);
  return [middle - half - half * 0.45, middle + half];
}

/** Always shows zero and the whole tolerance. */
export function pitchRange({ pitch, toleranceCents }: Drawing): Range {
  const least = toleranceCents * 1.8;
  const found = extent(pitch[1], pitch[2], pitch[3]) ?? [0, 0];
  return [Math.min(-least, found[0] - 1), Math.max(least, found[1] + 1)];
}
