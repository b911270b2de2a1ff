/**
 * Does the humidity control of an instrument still hold? The air inside the case and of its room, hour by hour as the science's test
 * takes them: on a coarser grid air that follows the room would look like a sensor that was exchanged. Asked once a day: a day is the least from which the test concludes anything.
 */
import * as z from 'zod/mini';
import { timeMs } from '../contract/index.ts';
import type { Viewer } from '../registry/viewer.ts';
import { type ControlEffect, controlEffect } from '../science/drift/index.ts';
import type { BoardDeps } from '../series/board.ts';
import { dayMs } from '../series/board-run.ts';
import { type ClimateSources, climateOf, hourMs } from '../series/climate.ts';

/** So much of its own past is learned from: the rest lies before another season's filling and pads. */
const pastDays = 400;

export const controlStanding = z.object({
  setPct: z.number(),
  now: z.enum(['holds', 'lost', 'cannot tell']),
  because: z.string(),
  /** Of the loss that is open now; null while it holds or nothing can be told. */
  loss: z.nullable(
    z.object({
      sinceMs: timeMs,
      side: z.enum(['dry', 'wet']),
      /** Share of the gap to the room that the inside has followed since. */
      share: z.number(),
      cause: z.enum(['unplugged or off', 'run dry', 'humidifying side weak', 'dehumidifying side weak']),
      /** How likely that cause is, 0-1. */
      causeChance: z.number(),
      /** What points to it, and what else to look at. */
      why: z.string(),
    }),
  ),
  /** Share of the gap it lets through while it works, on the side on which the room stands most. */
  usual: z.number(),
});
export type ControlStanding = z.infer<typeof controlStanding>;

interface Control {
  readonly kind: 'humidify' | 'dehumidify' | 'both';
  readonly setPct: number;
  readonly sinceMs: number;
}

/** The science takes set points of a control that someone would set; another is found from the past instead. */
const setPoints = { least: 20, most: 75 };

/** @returns null where there is no sensor inside or none in the room: then nothing is known of its work */
export async function controlStandingOf(
  { store }: BoardDeps,
  viewer: Viewer,
  sources: ClimateSources,
  control: Control,
  nowMs: number,
): Promise<ControlStanding | null> {
  if (sources.room.length === 0 || sources.inside.length === 0) return null;
  const toMs = Math.floor(nowMs / dayMs) * dayMs;
  const fromMs = Math.max(toMs - pastDays * dayMs, Math.ceil(control.sinceMs / dayMs) * dayMs);
  if (fromMs >= toMs) return null;
  const { room, inside } = await climateOf(store, viewer, sources, fromMs, toMs, hourMs);
  if (!room || !inside) return null;
  const series = (humidityPct: readonly (number | null)[]) => ({
    startMs: fromMs,
    stepMs: hourMs,
    humidityPct,
  });
  const { kind, setPct } = control;
  const known = setPct >= setPoints.least && setPct <= setPoints.most;
  const effect = controlEffect(series(inside.humidityPct), series(room.humidityPct), {
    kind,
    setPointPct: known ? setPct : null,
  });
  return standing(effect, setPct);
}

function standing({ now, because, losses, model }: ControlEffect, setPct: number): ControlStanding {
  const last = losses.at(-1);
  const open = now === 'lost' && last !== undefined && last.untilMs === null ? last : null;
  const dry = open ? open.side === 'dry' : model.dryDays >= model.wetDays;
  return {
    setPct,
    now,
    because,
    loss: open && {
      sinceMs: open.fromMs,
      side: open.side,
      share: open.share,
      cause: open.cause,
      causeChance: open.causeChance,
      why: open.why,
    },
    usual: dry ? model.dryShare : model.wetShare,
  };
}
