/** The two ends of a band of humidity: where they may stand, and where a drag or a key takes them. */

export const scale = { lowPct: 20, highPct: 80 } as const;
/** No control holds air closer than this. */
export const leastApartPct = 2;

export interface Band {
  readonly lowPct: number;
  readonly highPct: number;
}
export type End = keyof Band;

export const clamp = (pct: number, least: number, most: number): number =>
  Math.min(most, Math.max(least, pct));

/** The band with one end moved, whole percents, the other end left where it is. */
export function moved(band: Band, end: End, toPct: number): Band {
  const pct = Math.round(toPct);
  return end === 'lowPct'
    ? { ...band, lowPct: clamp(pct, scale.lowPct, band.highPct - leastApartPct) }
    : { ...band, highPct: clamp(pct, band.lowPct + leastApartPct, scale.highPct) };
}

const steps: Readonly<Record<string, number>> = {
  ArrowLeft: -1,
  ArrowDown: -1,
  ArrowRight: 1,
  ArrowUp: 1,
  PageDown: -5,
  PageUp: 5,
};

/** What a key on a handle does; null where it does nothing. */
export function keyed(key: string, band: Band, end: End): Band | null {
  const by = steps[key];
  if (by !== undefined) return moved(band, end, band[end] + by);
  if (key === 'Home') return moved(band, end, scale.lowPct);
  if (key === 'End') return moved(band, end, scale.highPct);
  return null;
}
