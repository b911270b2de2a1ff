/** How high each plot reaches: fixed where a reader compares by eye, wider where the data ask for it. */
import { temperatureUnit } from '../words/temperature.ts';
import { type Column, extent } from './columns.ts';
import { type FanColumns, within } from './coming.ts';
import type { Drawing } from './drawing.ts';

type Range = [number, number];

/** What is foretold within the stretch shown counts like what was measured. */
function ahead(
  { coming, fromMs, toMs }: Drawing,
  of: 'humidityPct' | 'moisturePct' | 'offsetCents',
): Column[] {
  const fan: FanColumns | undefined = coming?.[of];
  return fan ? within(fan, fromMs, toMs) : [];
}

export function airRange(drawing: Drawing): Range {
  const { air, quantity } = drawing;
  const foretold = quantity === 'humidityPct' ? ahead(drawing, 'humidityPct') : [];
  const found = extent(air[1], air[2], ...foretold);
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
export function boardRange(drawing: Drawing): Range {
  const { board } = drawing;
  const found = extent(board[1], board[2], ...ahead(drawing, 'moisturePct')) ?? [6, 9];
  const middle = (found[0] + found[1]) / 2;
  const half = Math.max(1.5, (found[1] - found[0]) / 2 + 0.2);
  return [middle - half - half * 0.45, middle + half];
}

/** Always shows zero and the whole tolerance. */
export function pitchRange(drawing: Drawing): Range {
  const { pitch, toleranceCents } = drawing;
  const least = toleranceCents * 1.8;
  const found = extent(pitch[1], pitch[2], pitch[3], ...ahead(drawing, 'offsetCents')) ?? [0, 0];
  return [Math.min(-least, found[0] - 1), Math.max(least, found[1] + 1)];
}
