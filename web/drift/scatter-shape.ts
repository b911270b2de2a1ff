/** Where the points, the fitted line and its band stand in a drawing of given size. */
import type { DriftPoint, Sensitivity } from '../../server/contract/index.ts';
import { eightOfTen } from '../chart/columns.ts';

export interface ScatterShape {
  readonly x: (moistureChangePct: number) => number;
  readonly y: (changeCents: number) => number;
  readonly marksX: readonly number[];
  readonly marksY: readonly number[];
  /** SVG paths of the line through the origin and of the band of its slope; empty before anything is learned. */
  readonly line: string;
  readonly band: string;
}

export interface Frame {
  readonly widthPx: number;
  readonly heightPx: number;
  readonly leftPx: number;
  readonly bottomPx: number;
}

/** 1, 2 or 5 times a power of ten, so that some four marks fall on each side of nothing. */
export function stepFor(reach: number): number {
  const rough = reach / 2.5;
  const power = 10 ** Math.floor(Math.log10(rough));
  return [1, 2, 5, 10].map((times) => times * power).find((step) => step >= rough) ?? 10 * power;
}

function marks(reach: number): number[] {
  const step = stepFor(reach);
  const each = Math.floor(reach / step);
  return Array.from({ length: 2 * each + 1 }, (_, i) => Number(((i - each) * step).toPrecision(6)));
}

/** Both axes reach as far to one side as to the other: no change stands in the middle. */
export function scatterShape(
  points: readonly DriftPoint[],
  slope: Sensitivity | undefined,
  { widthPx, heightPx, leftPx, bottomPx }: Frame,
): ScatterShape {
  const reachX = 1.12 * Math.max(1, ...points.map((point) => Math.abs(point.moistureChangePct)));
  const reachY =
    1.12 *
    Math.max(2, ...points.map((point) => Math.abs(point.changeCents)), Math.abs(slope?.centsPerPct ?? 0));
  const x = (value: number) => leftPx + ((value / reachX + 1) / 2) * (widthPx - leftPx);
  const y = (value: number) => ((1 - value / reachY) / 2) * (heightPx - bottomPx);
  const at = (value: number, cents: number) => `${x(value).toFixed(1)} ${y(cents).toFixed(1)}`;
  const ends = [-reachX, reachX];
  const edge = (cents: number) => ends.map((end) => at(end, cents * end));
  const low = slope ? slope.centsPerPct - eightOfTen * slope.sdCents : 0;
  const high = slope ? slope.centsPerPct + eightOfTen * slope.sdCents : 0;
  return {
    x,
    y,
    marksX: marks(reachX),
    marksY: marks(reachY),
    line: slope ? `M${edge(slope.centsPerPct).join('L')}` : '',
    // Two wedges that meet where neither board nor pitch has changed.
    band: slope
      ? ends.map((end) => `M${at(0, 0)}L${at(end, low * end)}L${at(end, high * end)}Z`).join('')
      : '',
  };
}
