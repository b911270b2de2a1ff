/** When an instrument is to be looked at anew: once a day in a minute of its own, and at once where a visit was missed. */
import type { Database } from '../db/database.ts';
import { slotOfDayMs } from '../drift/forecast-times.ts';
import { seenBy, type Viewer } from '../registry/viewer.ts';
import { dayMs } from '../series/board-run.ts';
import { hourMs } from '../series/climate.ts';

/** When the next daily look at an instrument is due: each in an hour and minute of its own, so that they are spread. */
export function nextLookMs(instrumentId: string, nowMs: number): number {
  const today = Math.floor(nowMs / dayMs) * dayMs + slotOfDayMs(instrumentId);
  return today > nowMs + hourMs ? today : today + dayMs;
}

/** Instruments with a visit that their last look does not know: the service ended between the two. */
export async function overtaken(db: Database, viewer: Viewer): Promise<Set<string>> {
  const rows = await db
    .selectFrom('visit')
    .$call(seenBy(viewer, 'visit'))
    .innerJoin('outlook', 'outlook.instrument_id', 'visit.instrument_id')
    .whereRef('visit.received_ms', '>', 'outlook.made_ms')
    .select('visit.instrument_id as id')
    .distinct()
    .execute();
  return new Set(rows.map((row) => row.id));
}
