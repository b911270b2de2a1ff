/** Where readings of the sensors of a place are left out because they are in doubt, as stretches for a chart. */
import type { SeriesId } from '../../ingest/index.ts';
import type { LeftOut } from '../contract/index.ts';
import type { Doubt } from '../registry/doubts.ts';
import type { PlacedSensor } from '../registry/sensors.ts';
import type { Viewer } from '../registry/viewer.ts';

export interface Stretch extends Doubt {
  readonly readings: number;
}

/** Doubts as stretches: what lies no further apart than `apartMs` is one. @param doubted ascending */
export function stretchesOf(doubted: readonly Doubt[], apartMs: number): Stretch[] {
  const found: Stretch[] = [];
  for (const { fromMs, untilMs } of doubted) {
    const last = found.at(-1);
    if (last && fromMs - last.untilMs <= apartMs)
      found[found.length - 1] = {
        fromMs: last.fromMs,
        untilMs: Math.max(last.untilMs, untilMs),
        readings: last.readings + 1,
      };
    else found.push({ fromMs, untilMs, readings: 1 });
  }
  return found;
}

/** More of one sensor cannot be told apart on any page; they are drawn together further. */
const most = 60;

/**
 * @param doubts of a series, ascending
 * @param apartMs the chart's step: what is nearer cannot be told apart in it
 */
export function leftOutOf(
  doubts: { doubtsOf(id: SeriesId): readonly Doubt[] },
  viewer: Viewer,
  placed: readonly PlacedSensor[],
  window: { readonly fromMs: number; readonly toMs: number },
  apartMs: number,
): LeftOut[] {
  return placed.flatMap(({ urn, sensorId, ...stood }) => {
    const fromMs = Math.max(window.fromMs, stood.fromMs);
    const toMs = Math.min(window.toMs, stood.untilMs ?? window.toMs);
    const within = doubts
      .doubtsOf({ organisation: viewer.organisationId, sensor: urn })
      .filter((one) => one.fromMs >= fromMs && one.fromMs < toMs);
    let apart = apartMs;
    let stretches = stretchesOf(within, apart);
    while (stretches.length > most) {
      apart *= 2;
      stretches = stretchesOf(within, apart);
    }
    return stretches.map((one) => ({ sensorId, urn, ...one }));
  });
}
