/** Gathers what can be said at once to a remark: the air then and now, where the pitch stands, how far unisons have spread. */
import { driftOf } from '../drift/learned.ts';
import { unisonsNow, unisonsReadSince } from '../drift/unisons-now.ts';
import { instrument } from '../registry/instruments.ts';
import { replyTo } from '../reports/remark-reply.ts';
import { toleranceFor } from '../science/index.ts';
import { boardHours } from '../series/board.ts';
import { climateOf, climateSources, hourFloor, hourMs } from '../series/climate.ts';
import { isTuning, visitsOf } from '../visits/visits.ts';
import { standings } from '../watch/evaluate.ts';
import type { AppDeps } from './handlers.ts';

const dayMs = 86_400_000;

export async function replyFor(deps: AppDeps, instrumentId: string): Promise<string> {
  const { db, store, viewer, now } = deps;
  const nowMs = now();
  const one = await instrument(db, viewer, instrumentId);
  const sources = await climateSources(db, viewer, one);
  const visits = await visitsOf(db, viewer, one.id);
  const tuning = visits.find(isTuning);

  /** Mean of the hours around a moment, by its sensors. */
  async function humidityAt(atMs: number): Promise<number | null> {
    const from = hourFloor(atMs) - 3 * hourMs;
    const climate = await climateOf(store, viewer, sources, from, from + 6 * hourMs, hourMs);
    const known = (climate.inside ?? climate.room)?.humidityPct.filter((value) => value !== null) ?? [];
    return known.length === 0 ? null : known.reduce((sum, value) => sum + value, 0) / known.length;
  }

  async function spread(tunedMs: number): Promise<number | null> {
    const hours = await boardHours(deps, viewer, one, sources, tunedMs - hourMs, nowMs);
    if (!hours) return null;
    const drift = await driftOf(db, viewer, one);
    const { unisonCents } = toleranceFor(one.use);
    return unisonsNow(drift, hours, tunedMs, unisonCents, unisonsReadSince(visits))?.spreadCents ?? null;
  }

  return replyTo({
    daysSinceTuning: tuning ? (nowMs - tuning.atMs) / dayMs : null,
    humidityThenPct: tuning ? (tuning.conditions.humidityPct ?? (await humidityAt(tuning.atMs))) : null,
    humidityNowPct: await humidityAt(nowMs - 2 * hourMs),
    registers: (await standings(db, viewer)).get(one.id)?.registers ?? [],
    unisonsCents: tuning ? await spread(tuning.atMs) : null,
  });
}
