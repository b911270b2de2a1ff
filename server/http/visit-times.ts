import type { Database } from '../db/database.ts';
import { seenBy, type Viewer } from '../registry/viewer.ts';

/** When each instrument was last visited. */
export async function lastVisits(db: Database, viewer: Viewer): Promise<Map<string, number>> {
  const rows = await db
    .selectFrom('visit')
    .$call(seenBy(viewer, 'visit'))
    .select(({ fn }) => ['instrument_id', fn.max('at_ms').as('last_ms')])
    .groupBy('instrument_id')
    .execute();
  return new Map(rows.map((row) => [row.instrument_id, Number(row.last_ms)]));
}
