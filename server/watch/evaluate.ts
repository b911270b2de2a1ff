/** Asks the rules about one instrument, keeps what they say, and keeps how the instrument stands for its page. */
import * as z from 'zod/mini';
import { advice, class0to3, registerPitch, timeMs, tolerance } from '../contract/index.ts';
import type { Database } from '../db/database.ts';
import { type PlacedInstrument, placeOf } from '../registry/instruments.ts';
import { seenBy, type Viewer } from '../registry/viewer.ts';
import { advanceBoard, type BoardDeps } from '../series/board.ts';
import { hourMs } from '../series/climate.ts';
import { adviceFor } from './advice.ts';
import { applyDecisions, notices } from './notices.ts';
import { boardDry, boardWet } from './rules/board-stress.ts';
import { pitchOut } from './rules/pitch-out.ts';
import type { Decision, RuleName } from './rules/rule.ts';
import { swing } from './rules/swing.ts';
import { moistureNow, type Situation, situationOf } from './situation.ts';

/** Air older than this is stale: what rests on it is frozen. */
const staleAfterMs = 6 * hourMs;

type InstrumentRule = (situation: Situation, stale: boolean) => Decision | null;

/** Every rule about an instrument; to add one, write it in rules/ and name it here. */
const instrumentRules: Partial<Record<RuleName, InstrumentRule>> = {
  'pitch-out': pitchOut,
  'board-dry': boardDry,
  'board-wet': boardWet,
  swing,
};

export const standing = z.object({
  evaluatedMs: timeMs,
  advice,
  boardMoisturePct: z.nullable(z.number()),
  boardClass: z.nullable(class0to3),
  lastTunedMs: z.nullable(timeMs),
  registers: z.array(registerPitch),
  tolerance,
});
export type Standing = z.infer<typeof standing>;

export function decide(situation: Situation): Decision[] {
  const stale = situation.airUntilMs === null || situation.nowMs - situation.airUntilMs > staleAfterMs;
  return Object.values(instrumentRules).flatMap((rule) => rule(situation, stale) ?? []);
}

/**
 * @param changedFromMs the earliest time whose air changed since the last evaluation; null: only newer hours.
 */
export async function evaluateInstrument(
  deps: BoardDeps,
  viewer: Viewer,
  instrument: PlacedInstrument,
  nowMs: number,
  changedFromMs: number | null,
): Promise<Standing> {
  const state = await advanceBoard(deps, viewer, instrument, nowMs, changedFromMs);
  const situation = await situationOf(deps, viewer, instrument, state, nowMs);
  const decisions = decide(situation);
  const subject = {
    id: instrument.id,
    instrumentId: instrument.id,
    sensorId: null,
    venueId: instrument.venueId,
    place: placeOf(instrument),
  };
  // The notices and how the instrument stands are kept together, or neither is.
  return deps.db.transaction().execute(async (trx) => {
    await applyDecisions(trx, viewer, subject, Object.keys(instrumentRules) as RuleName[], decisions, nowMs);
    const open = await notices(trx, viewer, { over: false, instrumentId: instrument.id });
    const body: Standing = {
      evaluatedMs: nowMs,
      advice: adviceFor(situation, open),
      boardMoisturePct: moistureNow(situation),
      boardClass: situation.stress.at(-1)?.class ?? null,
      lastTunedMs: situation.visits.find((visit) => visit.asLeft !== null)?.atMs ?? null,
      registers: situation.pitch?.now.registers ?? [],
      tolerance: situation.tolerance,
    };
    const row = {
      instrument_id: instrument.id,
      organisation_id: viewer.organisationId,
      evaluated_ms: nowMs,
      body: JSON.stringify(body),
    };
    await trx
      .insertInto('standing')
      .values(row)
      .onConflict((conflict) =>
        conflict.column('instrument_id').doUpdateSet({ evaluated_ms: nowMs, body: row.body }),
      )
      .execute();
    return body;
  });
}

/** How every instrument of the viewer stood when the watch last looked. */
export async function standings(db: Database, viewer: Viewer): Promise<Map<string, Standing>> {
  const rows = await db.selectFrom('standing').$call(seenBy(viewer, 'standing')).selectAll().execute();
  return new Map(rows.map((row) => [row.instrument_id, standing.parse(JSON.parse(row.body))]));
}
