/** Sensors that stood at one spot together: how much the one differs from the other, hour by hour. */
import type { TimeSeries } from '../../ingest/index.ts';
import type { Beside, Placement } from '../contract/index.ts';
import type { Viewer } from '../registry/viewer.ts';
import { hourFloor, hourMs } from './climate.ts';

/** Less says too little: a day has its own course of heating and sun. */
export const leastHours = 20;
/** Longer tells no more, and the two may have grown apart meanwhile. */
const mostMs = 7 * 24 * hourMs;

export interface Together {
  readonly otherId: string;
  readonly fromMs: number;
  readonly untilMs: number;
}

const spot = (one: Placement): string => `${one.spot} ${one.roomId ?? one.instrumentId ?? one.venueId}`;

/** When another sensor stood at the same spot; the newest first. */
export function timesTogether(all: readonly Placement[], sensorId: string, nowMs: number): Together[] {
  const mine = all.filter((one) => one.sensorId === sensorId);
  return mine
    .flatMap((own) =>
      all
        .filter((other) => other.sensorId !== sensorId && spot(other) === spot(own))
        .map((other) => ({
          otherId: other.sensorId,
          fromMs: Math.max(own.fromMs, other.fromMs),
          untilMs: Math.min(own.untilMs ?? nowMs, other.untilMs ?? nowMs, nowMs),
        })),
    )
    .filter(({ fromMs, untilMs }) => untilMs - fromMs >= leastHours * hourMs)
    .sort((a, b) => b.untilMs - a.untilMs);
}

export interface Difference {
  readonly hours: number;
  readonly offsetPct: number;
  readonly offsetC: number;
  readonly wanderPct: number;
}

const meanOf = (values: readonly number[]): number =>
  values.reduce((sum, value) => sum + value, 0) / values.length;

/**
 * The other as it is understood, less this one as it was sent, over their common hours.
 * @returns null where they share fewer than twenty hours
 */
export async function difference(
  stores: { readonly sent: TimeSeries; readonly air: TimeSeries },
  viewer: Viewer,
  urn: string,
  otherUrn: string,
  window: { readonly fromMs: number; readonly untilMs: number },
): Promise<Difference | null> {
  const organisation = viewer.organisationId;
  const toMs = hourFloor(window.untilMs);
  const fromMs = Math.max(hourFloor(window.fromMs + hourMs - 1), toMs - mostMs);
  if (toMs <= fromMs) return null;
  const own = await stores.sent.buckets({ organisation, sensor: urn }, fromMs, toMs, hourMs);
  const other = await stores.air.buckets({ organisation, sensor: otherUrn }, fromMs, toMs, hourMs);
  const at = new Map(other.timesMs.map((timeMs, i) => [timeMs, i]));
  const pct: number[] = [];
  const warm: number[] = [];
  own.timesMs.forEach((timeMs, i) => {
    const j = at.get(timeMs);
    if (j === undefined) return;
    const [mine, theirs] = [own.humidityPct.mean[i] ?? null, other.humidityPct.mean[j] ?? null];
    if (mine !== null && theirs !== null) pct.push(theirs - mine);
    const [mineC, theirsC] = [own.temperatureC.mean[i] ?? null, other.temperatureC.mean[j] ?? null];
    if (mineC !== null && theirsC !== null) warm.push(theirsC - mineC);
  });
  if (pct.length < leastHours) return null;
  const offsetPct = meanOf(pct);
  const wanderPct = Math.sqrt(meanOf(pct.map((one) => (one - offsetPct) ** 2)));
  return { hours: pct.length, offsetPct, offsetC: warm.length < leastHours ? 0 : meanOf(warm), wanderPct };
}

export async function besides(
  stores: { readonly sent: TimeSeries; readonly air: TimeSeries },
  viewer: Viewer,
  urnOf: (sensorId: string) => string | undefined,
  sensorId: string,
  together: readonly Together[],
): Promise<Beside[]> {
  const found: Beside[] = [];
  for (const one of together.slice(0, 4)) {
    const [urn, otherUrn] = [urnOf(sensorId), urnOf(one.otherId)];
    if (urn === undefined || otherUrn === undefined) continue;
    const between = await difference(stores, viewer, urn, otherUrn, one);
    if (between) found.push({ ...one, otherUrn, ...between });
  }
  return found;
}
