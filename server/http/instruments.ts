/** Instruments: the list with advice and year strips, one page, its climate and its pitch. */
import type { InstrumentSummary } from '../contract/index.ts';
import type { Database } from '../db/database.ts';
import { instrument, instruments, type PlacedInstrument, putInstrument } from '../registry/instruments.ts';
import { placements, sensorRows } from '../registry/sensors.ts';
import { seenBy, type Viewer } from '../registry/viewer.ts';
import { boardDays } from '../series/board.ts';
import { visitsOf } from '../visits/visits.ts';
import { notices } from '../watch/notices.ts';
import { openCalls } from '../watch/open-calls.ts';
import { loadOutlooks } from '../watch/outlook-store.ts';
import { type Standing, standings } from '../watch/standings.ts';
import { climateAnswer, pitchAnswer } from './courses.ts';
import type { AppDeps, Handlers } from './handlers.ts';
import { airAt } from './places.ts';

type InstrumentRoutes =
  | 'instruments'
  | 'instrument'
  | 'putInstrument'
  | 'climate'
  | 'pitch'
  | 'notices'
  | 'calls';

const stripDays = 365;
/** A strip is read by colour: hundredths are more than it shows, and a third of the bytes. */
const forColour = (pct: number | null): number | null => (pct === null ? null : Math.round(pct * 100) / 100);

export function instrumentHandlers(deps: AppDeps): Pick<Handlers, InstrumentRoutes> {
  const { db, viewer, watch, now } = deps;

  async function summaries(all: readonly PlacedInstrument[]): Promise<InstrumentSummary[]> {
    const nowMs = now();
    const [stands, sensors, placed, visits] = await Promise.all([
      standings(db, viewer),
      sensorRows(db, viewer),
      placements(db, viewer),
      visitTimes(db, viewer, nowMs - stripDays * 86_400_000),
    ]);
    const strips = await boardDays(
      deps,
      viewer,
      all.map((one) => one.id),
      nowMs,
      stripDays,
    );
    return all.map((one) => {
      const stands1 = stands.get(one.id) ?? notYet(nowMs);
      return {
        ...one,
        advice: stands1.advice,
        boardMoisturePct: stands1.boardMoisturePct,
        boardClass: stands1.boardClass,
        lastTunedMs: stands1.lastTunedMs,
        inside: airAt(sensors, placed, (placement) => placement.instrumentId === one.id, nowMs),
        room: airAt(sensors, placed, (placement) => placement.roomId === one.roomId, nowMs),
        strip: {
          endMs: nowMs,
          moisturePct: (strips.get(one.id) ?? []).map(forColour),
          visitsMs: visits.get(one.id) ?? [],
        },
      };
    });
  }

  return {
    async instruments() {
      const list = await summaries(await instruments(db, viewer));
      return list.sort((a, b) => b.advice.urgency - a.advice.urgency);
    },
    async instrument({ params }) {
      const one = await instrument(db, viewer, params.id);
      const [summary] = await summaries([one]);
      const stands = (await standings(db, viewer)).get(one.id) ?? notYet(now());
      if (!summary) throw new Error('an instrument without a summary');
      // The very figures that the rule about the pitch goes by.
      const pitch = (await loadOutlooks(db, [one.id])).get(one.id)?.pitch;
      const recent = await notices(db, viewer, { over: true, instrumentId: one.id });
      return {
        ...summary,
        notices: recent.slice(0, 50),
        calls: (await openCalls(db, viewer, now())).filter((call) => call.instrumentId === one.id),
        visits: await visitsOf(db, viewer, one.id),
        registers: stands.registers,
        whole: pitch ? { levelCents: pitch.levelCents, beyond: pitch.beyond } : null,
        tolerance: stands.tolerance,
      };
    },
    async putInstrument({ params, body }) {
      const kept = await putInstrument(db, viewer, { ...body, id: params.id });
      // Another room, board or use changes everything that was worked out for it.
      await watch.reconsider(viewer, [kept.id], 0);
      return kept;
    },
    climate: async ({ params, query }) => climateAnswer(deps, await instrument(db, viewer, params.id), query),
    pitch: async ({ params, query }) => pitchAnswer(deps, await instrument(db, viewer, params.id), query),
    notices: ({ query }) => notices(db, viewer, { over: query.over === 'yes' }),
    calls: () => openCalls(db, viewer, now()),
  };
}

async function visitTimes(db: Database, viewer: Viewer, sinceMs: number): Promise<Map<string, number[]>> {
  const rows = await db
    .selectFrom('visit')
    .$call(seenBy(viewer, 'visit'))
    .select(['instrument_id', 'at_ms'])
    .where('at_ms', '>=', sinceMs)
    .orderBy('at_ms')
    .execute();
  const times = new Map<string, number[]>();
  for (const row of rows) times.set(row.instrument_id, [...(times.get(row.instrument_id) ?? []), row.at_ms]);
  return times;
}

/** Before the watch has looked for the first time. */
const notYet = (nowMs: number): Standing => ({
  evaluatedMs: nowMs,
  advice: {
    urgency: 0,
    urgent: false,
    sentence: 'It has just been entered and is being looked at.',
    toDo: 'Nothing to do.',
    cautions: [],
  },
  boardMoisturePct: null,
  boardClass: null,
  lastTunedMs: null,
  registers: [],
  tolerance: { levelCents: 0, stepCents: 0, unisonCents: 0 },
});
