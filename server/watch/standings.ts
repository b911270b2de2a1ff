/** How each instrument stands, as its page shows it: written when it differs from what was last shown. */
import * as z from 'zod/mini';
import { advice, class0to3, registerPitch, timeMs, tolerance } from '../contract/index.ts';
import { among } from '../db/among.ts';
import type { Database } from '../db/database.ts';
import type { PlacedInstrument } from '../registry/instruments.ts';
import { seenBy, type Viewer } from '../registry/viewer.ts';
import { toleranceFor } from '../science/index.ts';
import { adviceFor, adviceWithoutAir } from './advice.ts';
import type { Verdict } from './decide.ts';
import { noticeFromRow } from './notice-rows.ts';
import type { Outlook } from './outlook.ts';
import type { RegistryFacts } from './registry-facts.ts';

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

interface Shown {
  readonly instrument: PlacedInstrument;
  readonly outlook: Outlook | null;
  readonly verdict: Verdict | null;
}

type Notice = ReturnType<typeof noticeFromRow>;

function standsAt({ instrument, verdict }: Shown, facts: RegistryFacts, notices: readonly Notice[]) {
  const sources = facts.sourcesOf(instrument);
  const placed = sources.room.length + sources.inside.length > 0;
  const moisturePct = verdict?.course.moisturePct ?? null;
  return {
    advice: verdict ? adviceFor(verdict.situation, notices, verdict.frozen) : adviceWithoutAir(placed),
    // To a tenth, as it is shown: a hundredth more is no news.
    boardMoisturePct: moisturePct === null ? null : Math.round(moisturePct * 10) / 10,
    boardClass: verdict?.situation.stress?.class ?? null,
  };
}

/** What is remembered of what is shown; the rest of it is the daily look's. */
const keyOf = ({ outlook }: Shown, stands: ReturnType<typeof standsAt>): string =>
  `${outlook?.madeMs} ${JSON.stringify(stands)}`;

/** Is an instrument of which nothing is open shown as it stands? */
export const isShown = (one: Shown, facts: RegistryFacts, shown: ReadonlyMap<string, string>): boolean =>
  shown.get(one.instrument.id) === keyOf(one, standsAt(one, facts, []));

/** Call inside a transaction, after the notices were written. */
export async function saveStandings(
  db: Database,
  viewer: Viewer,
  some: readonly Shown[],
  facts: RegistryFacts,
  shown: Map<string, string>,
  nowMs: number,
): Promise<void> {
  const rows = await openRows(
    db,
    viewer,
    some.map(({ instrument }) => instrument.id),
  );
  const open = new Map<string, Notice[]>();
  for (const row of rows) {
    const key = row.subject_id;
    open.set(key, [...(open.get(key) ?? []), noticeFromRow(row)]);
  }
  const news: { instrument_id: string; organisation_id: string; evaluated_ms: number; body: string }[] = [];
  for (const one of some) {
    const { id, use } = one.instrument;
    const stands = standsAt(one, facts, open.get(id) ?? []);
    const key = keyOf(one, stands);
    if (shown.get(id) === key) continue;
    shown.set(id, key);
    const body: Standing = {
      evaluatedMs: nowMs,
      ...stands,
      lastTunedMs: one.outlook?.lastTunedMs ?? null,
      registers: one.outlook?.pitch?.registers ?? [],
      tolerance: one.outlook?.tolerance ?? toleranceFor(use),
    };
    const row = { instrument_id: id, evaluated_ms: nowMs, body: JSON.stringify(body) };
    news.push({ ...row, organisation_id: viewer.organisationId });
  }
  if (news.length === 0) return;
  await db
    .insertInto('standing')
    .values(news)
    .onConflict((conflict) =>
      conflict.column('instrument_id').doUpdateSet((eb) => ({
        evaluated_ms: eb.ref('excluded.evaluated_ms'),
        body: eb.ref('excluded.body'),
      })),
    )
    .execute();
}

async function openRows(db: Database, viewer: Viewer, ids: readonly string[]) {
  return db
    .selectFrom('notice')
    .$call(seenBy(viewer, 'notice'))
    .selectAll()
    .where('subject_id', 'in', among(ids))
    .where('state', '<>', 'over')
    .execute();
}

/** How every instrument of the viewer stood when the watch last looked. */
export async function standings(db: Database, viewer: Viewer): Promise<Map<string, Standing>> {
  const rows = await db.selectFrom('standing').$call(seenBy(viewer, 'standing')).selectAll().execute();
  return new Map(rows.map((row) => [row.instrument_id, standing.parse(JSON.parse(row.body))]));
}
